"use client";

import { useEffect, useRef } from "react";
import { SYMPTOM_KEYS, tierOf } from "@/lib/domain/symptoms/symptoms";

/**
 * Inside the form of a report: writes it down on this phone as it goes, under the form's own key. Where the
 * line is lost it is sent later, and is the same report; what is kept here stops at once, not at the next visit.
 */
export function ReportHere({ personId }: { readonly personId: string }) {
  const place = useRef<HTMLSpanElement>(null);
  useEffect(() => {
    const form = place.current?.closest("form");
    if (!form) return undefined;
    // Fetched while there is a line.
    const store = import("@/app/family/kept/store");
    store.catch(() => undefined); // then the form goes as it does without scripts
    const before = new Map<string, string>();
    const write = () => {
      const once = form.elements.namedItem("once");
      if (!(once instanceof HTMLInputElement)) return;
      const said = new FormData(form);
      const words = JSON.stringify([...said].filter(([name]) => name === "childId" || name === "noticed" || name === "note"));
      // Sent again with other words after a lost line, it is another report: under the old key it would count as said.
      if ((before.get(once.value) ?? words) !== words) once.value = crypto.randomUUID();
      before.set(once.value, words);
      const noticed = SYMPTOM_KEYS.filter((key) => said.getAll("noticed").includes(key));
      const [childId, note] = [String(said.get("childId") ?? ""), String(said.get("note") ?? "")];
      const tier = tierOf(noticed);
      if (!childId || tier === null) return;
      const report = { key: once.value, personId, childId, noticed, tier, note, photoSetId: null, writtenAt: Date.now(), sentAt: null };
      store.then(({ writeDown }) => writeDown("reports", report)).catch(() => undefined); // the form itself is on its way
    };
    form.addEventListener("submit", write);
    return () => form.removeEventListener("submit", write);
  }, [personId]);
  return <span ref={place} hidden />;
}
