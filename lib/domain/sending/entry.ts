import type { SymptomTier } from "@/lib/domain/setup/go-ahead-facts";
import type { View } from "@/lib/domain/setup/vocabulary";
import type { SymptomKey } from "@/lib/domain/symptoms/symptoms";

/** One photo of a waiting set. Its pictures stay in a place of their own; these are the facts. */
export type WaitingPhoto = {
  /** Made on the phone; the same however often this photo is tried. */
  readonly key: string;
  readonly ordinal: number;
  readonly view: View;
  readonly head: { readonly x: number; readonly y: number } | null;
  readonly facing: "front" | "back" | "unsure" | null;
  /** Whether the head was tapped in a picture turned back here by its side card; null when in the server's own. */
  readonly isSeenTurnedBack: boolean | null;
  /** What goes along of the facts that left with the metadata; null where the file went as it was, before the set was finished. */
  readonly prepared: string | null;
  /** The server's own id of it, once it has arrived. */
  readonly photoId: string | null;
};

/** The clip of a waiting set, which one of its photos is a frame of. Its bytes lie where the pictures do. */
export type WaitingClip = {
  /** Made on the phone; the clip's id, however often its pieces are tried. */
  readonly key: string;
  /** Of the photo that is a frame of it. */
  readonly ordinal: number;
  readonly bytes: number;
  /** By the file as it was filmed, epoch ms; absent where nothing says it, and in what was kept before it was noted. */
  readonly takenAt?: number;
  /** Quarters clockwise by which its photo was turned; absent where it was not. */
  readonly turns?: 1 | 2 | 3;
  readonly hasArrived: boolean;
};

/** Where a set's clip lies among its pictures, whose places are 1 to 4. */
export const CLIP_PLACE = 10;

type Felt = { readonly noticed: readonly SymptomKey[]; readonly isNone: boolean };

/** Why a set waits. `until` is the earliest moment, epoch ms, at which it is tried by itself. */
export type Waiting = { readonly at: "waiting"; readonly because: "new" | "line" | "busy" | "server" | "full"; readonly until: number };
/** Tried no more until a person, or a page opened anew, changes something. */
export type Held = { readonly at: "held"; readonly because: "signed-out" | "other-person" | "old-page" };
export type Refused = { readonly at: "refused"; readonly code: string; readonly values: Readonly<Record<string, string | number>>; readonly ordinal: number | null };
export type Sent = { readonly at: "sent"; readonly on: number };
/** Its person will not send it: nothing of it is left here, until the server has let go of what had arrived. */
export type TakenOut = { readonly at: "taken-out"; readonly until: number };

/** A whole photo set on its way from a phone: everything that its sending needs, and how far it has come. */
export type Entry = {
  /** The form of these very fields; a page or worker that does not know it leaves the entry alone. 2: with a clip, which an older one would send the set without. */
  readonly form: 1 | 2;
  /** The photo set's id, made on the phone. */
  readonly id: string;
  /** Who made it. It is never sent as anybody else, and shown to nobody else. */
  readonly personId: string;
  readonly childId: string;
  readonly exerciseKey: string;
  /** The set-up that was on the screen. */
  readonly setupId: string;
  /** Child and exercise in the family's own words. */
  readonly called: string;
  readonly madeAt: number;
  readonly photos: readonly WaitingPhoto[];
  /** Photos that went as they were, by the server's id, and were taken out again without a line: the server must know first. */
  readonly removed?: readonly string[];
  /** Absent where there is none, and in whatever is of form 1. */
  readonly clip?: WaitingClip;
  /** What was noticed and has not reached the practice yet, ahead of all else; null when nothing, or when it has. */
  readonly report: { readonly key: string; readonly tier: SymptomTier } | null;
  readonly finishKey: string;
  readonly taken: "just-now" | "earlier-today" | "before" | null;
  readonly symptoms: Readonly<Record<SymptomTier, Felt>>;
  readonly note: string;
  readonly state: Waiting | Held | Refused | Sent | TakenOut;
  /** Failed tries since something last went well. */
  readonly tries: number;
  /** How often its photos had to begin anew, because the server had them no more. */
  readonly restarts: number;
};

export const noticedIn = ({ symptoms }: Pick<Entry, "symptoms">): readonly SymptomKey[] => [...symptoms.urgent.noticed, ...symptoms.today.noticed];

/** Once it has arrived, or may never arrive, the pictures go from the phone; until then signing out would lose them. */
export const holdsPictures = ({ state }: Entry): boolean => state.at !== "sent" && state.at !== "taken-out" && !(state.at === "refused" && remedyFor(state.code) === "gone");

export type Step =
  | { readonly kind: "take-out"; readonly key: string }
  | { readonly kind: "remove"; readonly key: string; readonly photoId: string }
  | { readonly kind: "report"; readonly key: string }
  | { readonly kind: "photo"; readonly key: string; readonly photo: WaitingPhoto }
  | { readonly kind: "clip"; readonly key: string; readonly clip: WaitingClip; readonly photoId: string }
  | { readonly kind: "finish"; readonly key: string };

/** What is asked of the server next: what was noticed first, what was taken out, then photo after photo and the clip, and the finish when all have arrived. */
export function nextStep({ id, state, report, photos, clip, removed = [], finishKey }: Entry): Step | null {
  // Under the set's own id, which no other act of it bears.
  if (state.at === "taken-out") return { kind: "take-out", key: id };
  if (state.at !== "waiting") return null;
  if (report) return { kind: "report", key: report.key };
  const [gone] = removed;
  if (gone !== undefined) return { kind: "remove", key: gone, photoId: gone };
  const photo = photos.find(({ photoId }) => photoId === null);
  if (photo) return { kind: "photo", key: photo.key, photo };
  const frame = clip && !clip.hasArrived ? photos.find(({ ordinal }) => ordinal === clip.ordinal) : undefined;
  return clip && frame?.photoId ? { kind: "clip", key: clip.key, clip, photoId: frame.photoId } : { kind: "finish", key: finishKey };
}

/** Whether it is to be tried now. */
export const isDue = ({ state }: Entry, now: number): boolean => (state.at === "waiting" || state.at === "taken-out") && state.until <= now;

/** The order of sending: what was noticed cannot wait for anybody's photos. */
export const firstOf = (entries: readonly Entry[]): Entry | undefined =>
  entries.toSorted((a, b) => Number(b.report !== null) - Number(a.report !== null) || a.madeAt - b.madeAt)[0];

/**
 * What helps after a refusal: the same again, another photo, an answer about the time, today's page read
 * anew, a consent, the set without its clip; or nothing, and then nothing of it stays on the phone.
 */
export type Remedy = "again" | "other-photo" | "taken" | "look-again" | "consent" | "side" | "without-clip" | "gone";

const REMEDIES: Readonly<Record<string, Remedy>> = {
  "consent-withdrawn": "gone", "not-found": "gone", "consent-missing": "consent",
  "setup-not-confirmed": "look-again", "record-changed": "look-again", "phase-not-open": "look-again",
  "side-opposite": "side", "taken-at-missing": "taken",
  "clip-photo-gone": "other-photo",
  "photo-too-large": "other-photo", "photo-kind-refused": "other-photo", "photo-damaged": "other-photo", "photo-too-many-pixels": "other-photo",
  "photo-too-small": "other-photo", "photo-side-too-long": "other-photo", "photo-gone": "other-photo", "photos-missing": "other-photo", "side-check-missing": "other-photo",
};

/** A code nobody foresaw, a photo limit and a decoder that stopped: the same may go well another time. */
export const remedyFor = (code: string): Remedy => REMEDIES[code] ?? (code.startsWith("clip-") ? "without-clip" : "again");
