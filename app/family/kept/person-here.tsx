"use client";

import { useEffect } from "react";
import { personHere, setPersonHere } from "@/app/family/kept/here";

/**
 * Says whose phone this is now, so that what is kept for one person never shows to another; what others
 * kept goes, and so does what was pushed here to them. Null for staff, who keep nothing.
 */
export function PersonHere({ personId }: { readonly personId: string | null }) {
  useEffect(() => {
    const before = personHere();
    if (before === personId) return;
    setPersonHere(personId);
    import("@/app/mail/push-here").then(({ endHere }) => endHere()).catch(() => undefined); // a browser that is never pushed to
    if (before !== null) import("@/app/family/kept/store").then(({ forget }) => forget("others", personId ?? "")).catch(() => undefined); // nothing is shown of it either way
  }, [personId]);
  return null;
}
