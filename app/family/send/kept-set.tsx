"use client";

import { useEffect, useRef } from "react";
import type { Queue } from "@/app/family/queue/queue";
import type { Shown } from "@/app/family/queue/shown";
import { WaitingSet } from "@/app/family/queue/waiting-set";
import type { Words } from "@/app/family/send/steps";
import { Notice } from "@/app/ui/notice";
import { Stack } from "@/app/ui/stack";

/** The set just made, until it has arrived; then on to what was asked for. */
export function KeptSet({ id, kept, queue, shown: { entries, live }, words, goTo }: {
  readonly id: string;
  readonly kept: "phone" | "page";
  readonly queue: Queue;
  readonly shown: Shown;
  readonly words: Words;
  readonly goTo: string;
}) {
  const entry = entries?.find((each) => each.id === id);
  const isSent = entry?.state.at === "sent";
  const isTakenOut = entries !== null && !entry;
  const isLeaving = useRef(false);
  useEffect(() => {
    if (isLeaving.current || !(isSent || isTakenOut)) return;
    isLeaving.current = true;
    // Seen here: nothing of it is shown again elsewhere.
    void queue.takeOut(id).then(() => window.location.assign(isSent ? goTo : "/family/send"));
  }, [isSent, isTakenOut, queue, id, goTo]);
  return (
    <section aria-label={words["title"]}>
      <Stack>
        {isSent || entry?.state.at === "refused" ? null : <Notice kind={kept === "phone" ? "info" : "caution"}>{words[kept === "phone" ? "kept" : "keptPage"]}</Notice>}
        {entry ? <WaitingSet entry={entry} share={live?.id === id ? live.share : null} queue={queue} words={words} /> : null}
      </Stack>
    </section>
  );
}
