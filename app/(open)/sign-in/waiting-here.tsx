"use client";

import { useEffect, useState } from "react";
import { anyHere } from "@/app/family/queue/any-here";
import { Notice } from "@/app/ui/notice";

/** That photo sets wait on this phone for somebody to sign in: how many, and nothing of whose or of whom. */
export function WaitingHere({ words }: { readonly words: { readonly one: string; readonly more: string } }) {
  const [waiting, setWaiting] = useState(0);
  useEffect(() => {
    let isOver = false;
    const look = async () => {
      if (!(await anyHere())) return;
      const { unsentHere } = await import("@/app/family/queue/clear");
      const { own, others } = await unsentHere("");
      if (!isOver) setWaiting(own + others);
    };
    look().catch(() => undefined); // a phone that keeps nothing
    return () => {
      isOver = true;
    };
  }, []);
  return (
    <div aria-live="polite">
      {waiting > 0 ? <Notice kind="info">{waiting === 1 ? words.one : words.more.replace("{n}", String(waiting))}</Notice> : null}
    </div>
  );
}
