"use client";

import { useCallback, useEffect, useSyncExternalStore } from "react";
import { NAME } from "@/app/family/queue/alone";
import { anyHere } from "@/app/family/queue/any-here";
import type { Queue } from "@/app/family/queue/queue";
import { NOTHING_SHOWN, type Shown } from "@/app/family/queue/shown";

type Code = Pick<typeof import("@/app/family/queue/queue"), "queueOf" | "shownOf">;

let code: Code | null = null;
const listeners = new Set<() => void>();
function onCode(listener: () => void): () => void {
  listeners.add(listener);
  return () => listeners.delete(listener);
}

/** The queue and the phone's database under it: fetched where something waits, or is about to. Rejects without a line. */
export async function bringQueue(personId: string): Promise<Queue> {
  code ??= await import("@/app/family/queue/queue");
  for (const listener of listeners) listener();
  return code.queueOf(personId);
}

const nothing = () => NOTHING_SHOWN;

/** This person's queue and what it shows; null until it is here and the phone was asked what waits. */
export function useQueue(personId: string): readonly [Queue | null, Shown] {
  const here = useSyncExternalStore(onCode, () => code, () => null);
  const subscribe = useCallback((listener: () => void) => here?.queueOf(personId).subscribe(listener) ?? (() => {}), [here, personId]);
  const shown = useSyncExternalStore(subscribe, () => here?.shownOf(personId) ?? NOTHING_SHOWN, nothing);
  return [here && shown.entries ? here.queueOf(personId) : null, shown];
}

/** On every page of a family: what waits goes on its way, also after signing in again without a new load. */
export function KeepSending({ personId }: { readonly personId: string }): null {
  useEffect(() => {
    const over = new AbortController();
    const { signal } = over;
    const wake = async () => {
      if (signal.aborted || !(await anyHere())) return;
      const queue = await bringQueue(personId);
      if (!signal.aborted) await queue.wake("opened");
    };
    // Without a line its code may not come either: it is asked for again when there is one.
    const tryIt = () => void wake().catch(() => window.addEventListener("online", tryIt, { once: true, signal }));
    tryIt();
    // Another page keeps a first set.
    const channel = typeof BroadcastChannel === "function" ? new BroadcastChannel(NAME) : null;
    channel?.addEventListener("message", () => (code ? undefined : tryIt()), { signal });
    signal.addEventListener("abort", () => channel?.close());
    return () => over.abort();
  }, [personId]);
  return null;
}
