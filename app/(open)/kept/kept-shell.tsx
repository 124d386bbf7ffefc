"use client";

import { useEffect, useState, useSyncExternalStore, type ReactNode } from "react";
import type { KeptView, Words } from "@/app/(open)/kept/kept-view";
import { choiceOf, onChange, personHere, waitingOf } from "@/app/family/kept/here";

/** Whether this phone keeps, or was told, anything of whoever it belongs to now. */
function hasAny(): boolean {
  const personId = personHere();
  return personId !== null && (choiceOf(personId) === "yes" || waitingOf(personId) !== null);
}

/** `children`, which say that there is no signal; what this phone keeps in their place, whose code it keeps too. */
export function KeptShell({ words, children }: { readonly words: Words; readonly children: ReactNode }) {
  const isKept = useSyncExternalStore(onChange, hasAny, () => false);
  const [View, setView] = useState<typeof KeptView | null>(null);
  useEffect(() => {
    if (!isKept) return;
    // Should it not come, the page still says to go online before anything is begun.
    import("@/app/(open)/kept/kept-view").then((code) => setView(() => code.KeptView), () => undefined);
  }, [isKept]);
  // What was shown stays while it is taken off this phone.
  return View ? <View words={words}>{children}</View> : children;
}
