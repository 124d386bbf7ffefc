import { pairWarnings, type PairPhoto } from "@/lib/domain/answering/pair";
import { isChange, readingOf } from "@/lib/domain/marks/angle";
import type { Mark } from "@/lib/domain/marks/marks";
import type { Size } from "@/lib/domain/marks/viewport";

type Drawn = PairPhoto & Size & { readonly marks: readonly Mark[] };

/** One item's angle on both photos, in whole degrees; `areApart` when nearness no longer forbids to speak of a change. */
export type AngleInBoth = { readonly itemKey: string; readonly earlier: number; readonly later: number; readonly areApart: boolean };

/**
 * Angles that may be read beside each other: drawn for the same item, once on each photo, in photos
 * seen the same way and sent under the same sides. Anything else says nothing of the child.
 */
export function anglesInBoth(earlier: Drawn, later: Drawn): readonly AngleInBoth[] {
  const warnings = pairWarnings(earlier, later);
  if (warnings.includes("views-differ") || warnings.includes("sides-changed")) return [];
  const before = anglesOf(earlier);
  return [...anglesOf(later)].flatMap(([itemKey, now]) => {
    const then = before.get(itemKey);
    return typeof then === "number" && typeof now === "number" ? [{ itemKey, earlier: then, later: now, areApart: isChange(then, now) }] : [];
  });
}

/** Degrees by item; an item with two angles has none. */
function anglesOf(photo: Drawn): ReadonlyMap<string, number | null> {
  const found = new Map<string, number | null>();
  for (const mark of photo.marks) {
    if (mark.kind !== "angle" || mark.itemKey === null) continue;
    found.set(mark.itemKey, found.has(mark.itemKey) ? null : readingOf(mark, photo, null));
  }
  return found;
}
