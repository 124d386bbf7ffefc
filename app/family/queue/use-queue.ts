"use client";

import { useCallback, useEffect, useSyncExternalStore } from "react";
import { NOTHING_SHOWN, queueOf, shownOf, type Queue, type Shown } from "@/app/family/queue/queue";

const nothing = () => NOTHING_SHOWN;

/** This person's queue and what it shows; null until the phone was asked what waits. */
export function useQueue(personId: string): readonly [Queue | null, Shown] {
  const subscribe = useCallback((listener: () => void) => queueOf(personId).subscribe(listener), [personId]);
  const shown = useSyncExternalStore(subscribe, () => shownOf(personId), nothing);
  return [shown.entries && queueOf(personId), shown];
}

/** On every page of a family: what waits goes on its way, also after signing in again without a new load. */
export function KeepSending({ personId }: { readonly personId: string }): null {
  useEffect(() => void queueOf(personId).wake("opened"), [personId]);
  return null;
}
