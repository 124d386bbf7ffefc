"use client";

import { useCallback, useEffect, useState, useSyncExternalStore } from "react";
import { choiceOf, choose, onChange } from "@/app/family/kept/here";
import { Button } from "@/app/ui/button";
import { Notice } from "@/app/ui/notice";
import { Row } from "@/app/ui/stack";

type Words = Readonly<Record<"title" | "what" | "who" | "end" | "yes" | "notNow" | "keeping" | "isKept" | "failed", string>>;

/** Asked once for each person; where it was answered with yes, what is kept is taken anew on each visit. Nothing before scripts run. */
export function KeepOnPhone({ personId, writtenAt, words }: {
  readonly personId: string;
  /** When the page was written: one written anew, after an act of theirs, is kept anew. */
  readonly writtenAt: number;
  readonly words: Words;
}) {
  // "asked" on the server, where nobody can tell: nothing is shown.
  const choice = useSyncExternalStore(onChange, () => choiceOf(personId) ?? "open", () => "asked" as const);
  const [said, setSaid] = useState<"keeping" | "isKept" | "failed" | null>(null);
  const tell = useCallback((isKept: boolean) => setSaid((before) => before && (isKept ? "isKept" : "failed")), []);
  const press = (to: "yes" | "not-now") => {
    if (to === "yes") setSaid("keeping");
    choose(personId, to);
  };
  if (choice === "open") {
    return (
      <Notice kind="info" title={words.title}>
        <p>{words.what} {words.who} {words.end}</p>
        <Row>
          <Button onClick={() => press("yes")}>{words.yes}</Button>
          <Button kind="quiet" onClick={() => press("not-now")}>{words.notNow}</Button>
        </Row>
      </Notice>
    );
  }
  return (
    <div aria-live="polite">
      {choice === "yes" ? <Keeping key={writtenAt} personId={personId} onEnd={tell} /> : null}
      {said ? <Notice kind={said === "failed" ? "problem" : "done"}>{words[said]}</Notice> : null}
    </div>
  );
}

function Keeping({ personId, onEnd }: { readonly personId: string; readonly onEnd: (isKept: boolean) => void }) {
  useEffect(() => void keepNow(personId).then(onEnd), [personId, onEnd]);
  return null;
}

/** Fetched only where something is kept: most of its weight is the database. */
export async function keepNow(personId: string): Promise<boolean> {
  try {
    const { refresh } = await import("@/app/family/kept/sync");
    // Asked for, so that the phone does not clear it away to make room; without leave it is kept all the same.
    void navigator.storage?.persist?.().catch(() => false);
    return (await refresh(personId)) === "answered";
  } catch {
    return false;
  }
}
