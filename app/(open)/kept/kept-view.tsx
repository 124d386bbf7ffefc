"use client";

import { useState, type ReactNode } from "react";
import { BackLink } from "@/app/(open)/kept/back-link";
import { HurtsForm } from "@/app/(open)/kept/hurts-form";
import { KeptCard } from "@/app/(open)/kept/kept-card";
import { KeptStop } from "@/app/(open)/kept/kept-stop";
import { useKept } from "@/app/(open)/kept/use-kept";
import { Button } from "@/app/ui/button";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { Stack } from "@/app/ui/stack";
import { wayBack } from "@/lib/domain/installed/shell";
import { dateIn, worded } from "@/lib/domain/kept/view";
import { directionOf } from "@/lib/domain/words/reader";

export type Words = Readonly<Record<"title" | "unknown" | "online" | "open" | "waiting", string>>;

/** "Before you start" from what this phone keeps; `children` where it keeps nothing, or nothing that this app can read. */
export function KeptView({ words, children }: { readonly words: Words; readonly children: ReactNode }) {
  const { personId, view, isToldOnly, contact, isLost, isRead, addresses, report, answer, drop } = useKept();
  // Whoever was on the way to say that something hurts is there at once.
  const [told, setIsTelling] = useState<boolean | null>(null);
  if (!isRead || personId === null || view.is === "nothing") {
    return (
      <Stack gap="large">
        {isRead && isToldOnly ? <Notice kind="stop">{words.waiting}</Notice> : null}
        {children}
      </Stack>
    );
  }
  if (view.is === "unknown") return <Heading level={1}>{words.unknown}</Heading>;
  const { kept } = view;
  const here = { lang: document.documentElement.lang };
  const isTelling = told ?? wayBack(window.location.search) === "/family/symptom";
  const tell = (to: boolean) => {
    setIsTelling(to);
    window.scrollTo(0, 0);
  };
  // Said when it was kept; the page around it may be in another language by now.
  const inTheirs = { lang: kept.language, dir: directionOf(kept.language) };
  if (isTelling) {
    return <div {...inTheirs}><HurtsForm kept={kept} onBack={() => tell(false)} onReport={(said) => {
      report({ ...said, personId, sentAt: null });
      tell(false);
    }} /></div>;
  }
  return (
    <div {...inTheirs}><Stack gap="large">
      {view.children.filter((each) => each.isStopped).map((each) => (
        <KeptStop key={each.child.childId} view={each} kept={kept} isLost={isLost}
          onAnswer={(said) => answer({ ...said, personId, childId: each.child.childId, sentAt: null })} />
      ))}
      <Notice kind="caution">{contact === "silent"
        ? worded(kept, "kept.offline", { date: dateIn(kept, kept.checkedAt) })
        : <p {...here}>{words.online} <BackLink>{words.open}</BackLink></p>}</Notice>
      <Heading level={1}><span {...here}>{words.title}</span></Heading>
      {view.children.flatMap(({ exercises }) => exercises).map((each) => (
        <KeptCard key={each.exercise.title} view={each} kept={kept} addresses={addresses} onHurts={() => tell(true)} />
      ))}
      <Stack gap="small">
        <p {...here}><BackLink>{words.open}</BackLink></p>
        <div><Button kind="quiet" onClick={() => void drop()}>{worded(kept, "kept.forget")}</Button></div>
      </Stack>
    </Stack></div>
  );
}
