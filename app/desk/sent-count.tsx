"use client";

import { useEffect, useState, type ReactNode } from "react";
import { localKey, removeLocal } from "@/app/desk/local-drafts";

/** Counts down to when the family reads an answer; the way back goes with the last second. Says so once, not every second. */
export function SentCount({ seconds, personId, photoSetId, words, out, children }: {
  readonly seconds: number;
  readonly personId: string;
  readonly photoSetId: string;
  /** With `{seconds}`. */
  readonly words: string;
  readonly out: string;
  readonly children: ReactNode;
}) {
  const [left, setLeft] = useState(seconds);
  useEffect(() => {
    // The answer is on the server: this browser keeps nothing of it.
    removeLocal(localKey(personId, photoSetId));
    const until = Date.now() + seconds * 1000;
    const timer = window.setInterval(() => setLeft(Math.max(0, Math.ceil((until - Date.now()) / 1000))), 500);
    return () => window.clearInterval(timer);
  }, [seconds, personId, photoSetId]);
  return left > 0 ? <><span>{words.replace("{seconds}", String(left))}</span>{children}</> : <output>{out}</output>;
}
