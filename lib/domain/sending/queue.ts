import { nextStep, remedyFor, type Entry, type Step } from "@/lib/domain/sending/entry";
import type { Outcome } from "@/lib/domain/sending/reply";

const FIRST_WAIT_MS = 2000;
export const LONGEST_WAIT_MS = 15 * 60_000;
/** Photos that the server had no more are sent anew this often; then a person looks. */
const MOST_RESTARTS = 2;

/** What is not the entry's own: the clock, and a share of chance from 0 up to 1. */
export type Around = { readonly now: number; readonly chance: number; readonly newKey: () => string };

/** Twice as long after each failure, up to a quarter of an hour; half of it by chance, so that phones do not come at once. */
export const waitMs = (tries: number, chance: number): number =>
  Math.min(LONGEST_WAIT_MS, FIRST_WAIT_MS * 2 ** Math.min(tries, 20)) * (0.5 + chance / 2);

/** The entry after a step was answered. A step that is no longer its next one changes nothing. */
export function after(entry: Entry, step: Step, outcome: Outcome, around: Around): Entry {
  if (nextStep(entry)?.key !== step.key) return entry;
  const later = (because: "line" | "server" | "full"): Entry =>
    ({ ...entry, tries: entry.tries + 1, state: { at: "waiting", because, until: around.now + waitMs(entry.tries, around.chance) } });
  switch (outcome.kind) {
    case "done":
      // A photo's answer without its id is no answer to it.
      return step.kind === "photo" && outcome.photoId === null ? later("server") : done(entry, step, outcome.photoId, around.now);
    case "line":
    case "server":
    case "full":
      return later(outcome.kind);
    case "busy":
      // Never sooner than asked, and not all at the same moment.
      return { ...entry, state: { at: "waiting", because: "busy", until: around.now + outcome.seconds * 1000 * (1 + around.chance / 2) } };
    case "signed-out":
    case "other-person":
    case "old-page":
      return { ...entry, state: { at: "held", because: outcome.kind } };
    case "refused":
      return refused(entry, step, outcome, around);
    default:
      return outcome satisfies never;
  }
}

function done(entry: Entry, step: Step, photoId: string | null, now: number): Entry {
  const on: Entry = { ...entry, tries: 0, state: { at: "waiting", because: "new", until: now } };
  if (step.kind === "report") return { ...on, report: null };
  if (step.kind === "finish") return { ...on, state: { at: "sent", on: now } };
  return { ...on, photos: entry.photos.map((photo) => (photo.key === step.key ? { ...photo, photoId } : photo)) };
}

/** A busy server's decoder stops over a good photo too; one that stops it again and again is no good to send. */
const MOST_STOPPED = 2;
/** Which waits begin: about a minute and then two. */
const STOPPED_WAIT = 5;

function refused(entry: Entry, step: Step, { code, values }: Extract<Outcome, { kind: "refused" }>, { now, chance, newKey }: Around): Entry {
  // This id is this phone's alone: if its set is finished, an earlier finish arrived and its answer was lost.
  if (code === "set-finished" && step.kind !== "report") return { ...entry, tries: 0, state: { at: "sent", on: now } };
  if (code === "photo-decoder-stopped" && entry.tries < MOST_STOPPED) {
    return { ...entry, tries: entry.tries + 1, state: { at: "waiting", because: "server", until: now + waitMs(entry.tries + STOPPED_WAIT, chance) } };
  }
  if (code === "photos-missing" && entry.restarts < MOST_RESTARTS && entry.photos.every(({ prepared }) => prepared !== null)) {
    // Under new keys: the old ones would only be answered as before.
    return {
      ...entry, restarts: entry.restarts + 1, finishKey: newKey(), state: { at: "waiting", because: "new", until: now },
      photos: entry.photos.map((photo) => ({ ...photo, key: newKey(), photoId: null })),
    };
  }
  return { ...entry, state: { at: "refused", code, values, ordinal: step.kind === "photo" ? step.photo.ordinal : null } };
}

/** `seen`: the page came to the front. `pressed`: a person asked for it. */
export type Wake = "opened" | "online" | "seen" | "pressed";

/** The entry when something gives hope. A server that named its own time is not asked sooner. */
export function woken(entry: Entry, wake: Wake, now: number): Entry {
  const { state } = entry;
  const again: Entry = { ...entry, tries: 0, state: { at: "waiting", because: "new", until: now } };
  if (state.at === "waiting") return state.because === "busy" || state.until <= now ? entry : again;
  if (state.at === "held") return wake === "online" || (state.because === "old-page" && wake === "seen") ? entry : again;
  if (state.at === "refused" && wake === "pressed" && MAY_GO_AGAIN.includes(remedyFor(state.code))) return again;
  return entry;
}

const MAY_GO_AGAIN = ["again", "consent", "taken"];

/** When the photo was taken, said after the server asked for it. */
export const takenSaid = (entry: Entry, taken: Exclude<Entry["taken"], null>, now: number): Entry => woken({ ...entry, taken }, "pressed", now);

/** When the next entry wants to be tried; null when none waits. */
export const nextDue = (entries: readonly Entry[]): number | null =>
  entries.reduce<number | null>((soonest, { state }) => (state.at === "waiting" ? Math.min(soonest ?? Infinity, state.until) : soonest), null);

/** How far a set has come: whole steps done, of all its steps. */
export function stepsOf({ photos, report }: Entry): { readonly done: number; readonly of: number } {
  const arrived = photos.filter(({ photoId }) => photoId !== null).length;
  return { done: arrived, of: photos.length + 1 + (report ? 1 : 0) };
}
