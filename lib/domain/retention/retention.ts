import { addDays, addMonths, DAY_MS, instantOf, localDate } from "@/lib/domain/time/local";

/** What a practice may choose; both limits are ours. Local rules come first. */
export const RETENTION_MONTHS = { least: 3, most: 120 } as const;
/** A family is told so long before. */
export const WARN_DAYS = 30;
/** What was never finished, or closed for everybody, goes after so long. */
export const LEFT_OVER_DAYS = 30;
/** An asked-for erasure can be taken back for so long. */
export const UNDO_DAYS = 7;

/** More than a hundredth of all photos at once, and more than a few, is no ordinary day. */
const USUAL_SHARE = 0.01;
const USUAL_PHOTOS = 20;
/** A server that slept so long, or a clock that jumped, is looked at by a person first. */
const LONGEST_GAP_MS = 31 * DAY_MS;
/** A confirmation is for now, not for whenever. */
const CONFIRMED_MS = 3 * DAY_MS;

export type Kept = {
  /** The last answer to the photo set, or when it was sent while it has none. */
  readonly lastAt: number;
  readonly warnedAt: number | null;
};

/** The first instant at which the photos of a set are too old: the start of that day in the practice's zone. */
export const tooOldAt = (lastAt: number, months: number, zone: string): number => instantOf(addMonths(localDate(lastAt, zone), months), 0, zone);

/** What is to be done about a set now. Nothing is erased that its family was not told of so long before. */
export function retentionOf({ lastAt, warnedAt }: Kept, months: number, zone: string, now: number): { readonly state: "keep" | "warn" | "warned" | "erase"; readonly eraseAt: number } {
  const oldAt = tooOldAt(lastAt, months, zone);
  const warnAt = instantOf(addDays(localDate(oldAt, zone), -WARN_DAYS), 0, zone);
  // A warning of an earlier date counts no more once another answer, or another setting, moved it on.
  const told = warnedAt !== null && warnedAt >= warnAt ? warnedAt : null;
  if (told === null) return { state: now >= warnAt ? "warn" : "keep", eraseAt: Math.max(oldAt, now + WARN_DAYS * DAY_MS) };
  const eraseAt = Math.max(oldAt, told + WARN_DAYS * DAY_MS);
  return { state: now >= eraseAt ? "erase" : "warned", eraseAt };
}

export type Planned = { readonly photos: number; readonly warned: number; readonly total: number };
export type LastRun = { readonly ranAt: number; readonly outcome: "done" | "held"; readonly due: number; readonly confirmedAt: number | null };

export const isTooMany = (photos: number, total: number): boolean => photos > USUAL_PHOTOS && photos > total * USUAL_SHARE;

/**
 * Whether a person must look before this is done: far too much at once, or so long after the last time that
 * the clock may have jumped. What the lead confirmed a moment ago, and no more than that, goes on.
 */
export function mustHold({ photos, warned, total }: Planned, last: LastRun | null, now: number): boolean {
  if (photos === 0 && warned === 0) return false;
  const isConfirmed = last?.outcome === "held" && last.confirmedAt !== null && now >= last.confirmedAt && now - last.confirmedAt <= CONFIRMED_MS && photos + warned <= last.due;
  if (isConfirmed) return false;
  // What waits for a person goes on waiting: its own run is no proof that the clock is right.
  if (last?.outcome === "held") return true;
  return isTooMany(photos, total) || isTooMany(warned, total) || (last !== null && now - last.ranAt > LONGEST_GAP_MS);
}
