"use client";

import { useRouter } from "next/navigation";
import { useEffect, useState, useSyncExternalStore } from "react";
import { onChange, waitingOf } from "@/app/family/kept/here";
import { Notice } from "@/app/ui/notice";

const AGAIN_MS = 20_000;
const PATIENCE_MS = 2000;

/**
 * On every page of the family: what was said on this phone without signal goes on its way, and until it has
 * arrived this says so, above a page that does not know of it yet.
 */
export function SaidOffline({ personId, words }: { readonly personId: string; readonly words: Readonly<Record<"symptom" | "readBack", string>> }) {
  const router = useRouter();
  const waiting = useSyncExternalStore(onChange, () => waitingOf(personId), () => null);
  // With signal it arrives within the first try: nothing is said that is over before it is read.
  const [isShown, setIsShown] = useState(false);
  useEffect(() => {
    if (waiting === null) return undefined;
    const send = async () => {
      const { sync } = await import("@/app/family/kept/sync");
      await sync(personId);
      // The page was written before this arrived.
      if (waitingOf(personId) === null) router.refresh();
    };
    const tryIt = () => void send().catch(() => undefined).then(() => setIsShown(true)); // no signal: the next try comes by itself
    tryIt();
    const patience = setTimeout(setIsShown, PATIENCE_MS, true);
    const clock = setInterval(tryIt, AGAIN_MS);
    window.addEventListener("online", tryIt);
    return () => {
      clearTimeout(patience);
      clearInterval(clock);
      window.removeEventListener("online", tryIt);
    };
  }, [personId, router, waiting]);
  if (waiting === null || !isShown) return null;
  return waiting === "symptom" ? <Notice kind="stop">{words.symptom}</Notice> : <Notice kind="info">{words.readBack}</Notice>;
}
