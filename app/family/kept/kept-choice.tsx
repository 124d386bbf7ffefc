"use client";

import { useState, useSyncExternalStore } from "react";
import { choiceOf, choose, onChange } from "@/app/family/kept/here";
import { keepNow } from "@/app/family/kept/keep-on-phone";
import { Button } from "@/app/ui/button";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { Stack } from "@/app/ui/stack";

type Words = Readonly<Record<"title" | "who" | "isKept" | "isNotKept" | "failed" | "keep" | "forget", string>>;

/** Whether "Before you start" is kept on this phone, and the other choice. Nothing before scripts run. */
export function KeptChoice({ personId, words }: { readonly personId: string; readonly words: Words }) {
  const choice = useSyncExternalStore(onChange, () => choiceOf(personId) ?? "open", () => "unknown" as const);
  const [hasFailed, setHasFailed] = useState(false);
  if (choice === "unknown") return null;
  const isKept = choice === "yes";
  const press = async () => {
    choose(personId, isKept ? "not-now" : "yes");
    const isDone = isKept
      ? await import("@/app/family/kept/store").then(({ forget }) => forget("own", personId)).then(() => true, () => false)
      : await keepNow(personId);
    setHasFailed(!isDone);
    if (!isKept && !isDone) choose(personId, "not-now");
  };
  return (
    <Stack gap="small">
      <Heading level={2}>{words.title}</Heading>
      <p aria-live="polite">{isKept ? words.isKept : words.isNotKept}</p>
      {isKept ? null : <p>{words.who}</p>}
      {hasFailed ? <Notice kind="problem">{words.failed}</Notice> : null}
      <div><Button kind="quiet" onClick={() => void press()}>{isKept ? words.forget : words.keep}</Button></div>
    </Stack>
  );
}
