import { holdsPictures, nextStep, remedyFor, type Entry, type Step } from "@/lib/domain/sending/entry";
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

/** The entry after a step was answered; null when nothing of it is left. A step that is no longer its next one changes nothing. */
export function after(entry: Entry, step: Step, outcome: Outcome, around: Around): Entry | null {
  if (nextStep(entry)?.key !== step.key) return entry;
  if (step.kind === "take-out") return letGo(entry, outcome, around);
  // A photo that is not there, or is sent, is no longer in the way.
  if (step.kind === "remove" && (outcome.kind === "done" || outcome.kind === "refused")) {
    return { ...entry, tries: 0, removed: entry.removed?.filter((each) => each !== step.photoId) ?? [], state: { at: "waiting", because: "new", until: around.now } };
  }
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

/** The server lets go by itself of what was not finished for so long. */
const LET_GO_MS = 7 * 86_400_000;

/** Asked again until the server has said so: in no other person's session, and with patience where nobody is signed in. */
function letGo(entry: Entry, outcome: Outcome, { now, chance }: Around): Entry | null {
  if (outcome.kind === "done" || outcome.kind === "refused" || outcome.kind === "old-page" || now - entry.madeAt > LET_GO_MS) return null;
  const inMs = outcome.kind === "busy" ? outcome.seconds * 1000 * (1 + chance / 2)
    : outcome.kind === "line" || outcome.kind === "server" ? waitMs(entry.tries, chance) : LONGEST_WAIT_MS;
  return { ...entry, tries: entry.tries + 1, state: { at: "taken-out", until: now + inMs } };
}

/** The entry once its person takes it out: its words and pictures go at once. Null where the server has nothing of it that is not finished. */
export function takenOut(entry: Entry, now: number): Entry | null {
  if (!holdsPictures(entry)) return entry.state.at === "taken-out" ? entry : null;
  const none = { noticed: [], isNone: false };
  const { clip: _, ...rest } = entry;
  return { ...rest, called: "", note: "", symptoms: { urgent: none, today: none }, report: null, photos: [], removed: [], tries: 0, state: { at: "taken-out", until: now } };
}

function done(entry: Entry, step: Step, photoId: string | null, now: number): Entry {
  const on: Entry = { ...entry, tries: 0, state: { at: "waiting", because: "new", until: now } };
  if (step.kind === "report") return { ...on, report: null };
  if (step.kind === "finish") return { ...on, state: { at: "sent", on: now } };
  if (step.kind === "clip") return entry.clip ? { ...on, clip: { ...entry.clip, hasArrived: true } } : on;
  return { ...on, photos: entry.photos.map((photo) => (photo.key === step.key ? { ...photo, photoId } : photo)) };
}

/** A busy server's decoder stops over a good photo too; one that stops it again and again is no good to send. */
const MOST_STOPPED = 2;
/** Which waits begin: about a minute and then two. */
const STOPPED_WAIT = 5;

function refused(entry: Entry, step: Step, { code, values }: Extract<Outcome, { kind: "refused" }>, { now, chance, newKey }: Around): Entry {
  // This id is this phone's alone: if its set is finished, an earlier finish arrived and its answer was lost.
  if (code === "set-finished" && step.kind !== "report") return { ...entry, tries: 0, state: { at: "sent", on: now } };
  if ((code === "photo-decoder-stopped" || code === "clip-stopped") && entry.tries < MOST_STOPPED) {
    return { ...entry, tries: entry.tries + 1, state: { at: "waiting", because: "server", until: now + waitMs(entry.tries + STOPPED_WAIT, chance) } };
  }
  if ((code === "photos-missing" || code === "clip-photo-gone") && entry.restarts < MOST_RESTARTS && entry.photos.every(({ prepared }) => prepared !== null)) {
    // Under new keys: the old ones would only be answered as before.
    return {
      ...entry, restarts: entry.restarts + 1, finishKey: newKey(), state: { at: "waiting", because: "new", until: now },
      photos: entry.photos.map((photo) => ({ ...photo, key: newKey(), photoId: null })),
      ...(entry.clip ? { clip: { ...entry.clip, key: newKey(), hasArrived: false } } : {}),
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
  if (state.at === "taken-out") return { ...entry, tries: 0, state: { at: "taken-out", until: now } };
  if (state.at === "held") return wake === "online" || (state.because === "old-page" && wake === "seen") ? entry : again;
  if (state.at === "refused" && wake === "pressed" && MAY_GO_AGAIN.includes(remedyFor(state.code))) return again;
  return entry;
}

const MAY_GO_AGAIN = ["again", "consent", "taken"];

/** When the photo was taken, said after the server asked for it. */
export const takenSaid = (entry: Entry, taken: Exclude<Entry["taken"], null>, now: number): Entry => woken({ ...entry, taken }, "pressed", now);

/** The same set without its clip, after the clip was refused. */
export function withoutClip(entry: Entry, now: number): Entry {
  if (entry.state.at !== "refused") return entry;
  const { clip: _, ...rest } = entry;
  return { ...rest, tries: 0, state: { at: "waiting", because: "new", until: now } };
}

/** When the next entry wants to be tried; null when none waits. */
export const nextDue = (entries: readonly Entry[]): number | null =>
  entries.reduce<number | null>((soonest, { state }) => (state.at === "waiting" || state.at === "taken-out" ? Math.min(soonest ?? Infinity, state.until) : soonest), null);

/** A clip is many times the size of a photo, and a bar that stands still looks like a lost line. */
const CLIP_STEPS = 8;

/** How far a set has come: whole steps done, of all its steps; and how many the one in hand counts for. */
export function stepsOf(entry: Entry): { readonly done: number; readonly of: number; readonly now: number } {
  const { photos, clip, report } = entry;
  const arrived = photos.filter(({ photoId }) => photoId !== null).length;
  return {
    done: arrived + (clip?.hasArrived ? CLIP_STEPS : 0), of: photos.length + (clip ? CLIP_STEPS : 0) + 1 + (report ? 1 : 0),
    now: nextStep(entry)?.kind === "clip" ? CLIP_STEPS : 1,
  };
}
