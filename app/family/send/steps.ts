import type { ReadyMade } from "@/app/family/send/ready/made";
import type { Uploaded } from "@/app/family/send/upload";
import { photoAdvice, type PhotoAdvice } from "@/lib/domain/photo/advice";
import type { CardFinding, CardSaid } from "@/lib/domain/photo/side-card";
import { isOppositeCheck, sideCheck, whyCannotTell, type Seen } from "@/lib/domain/setup/side-check";
import type { View } from "@/lib/domain/setup/vocabulary";
import type { Side } from "@/lib/domain/sides";

export type Words = Readonly<Record<string, string>>;
export type Facing = "front" | "back" | "unsure";

/** What the screen says of a card. This phone knows the numbers of this child's cards and nobody else's. */
export type PhotoCard =
  | { readonly found: "several" }
  | { readonly found: "one"; readonly owner: (CardSaid & { found: "one" })["owner"] | "not-this-child"; readonly turnToUpright: 0 | 90 | 180 | 270 };

/** Where a photo is while it is checked: on this phone, or, where the browser cannot open it, already with the server. */
export type Place =
  | { readonly on: "phone"; readonly made: ReadyMade }
  /** The turns are counted so that the browser asks for the new picture. */
  | { readonly on: "server"; readonly photoId: string; readonly turns: number };

/** One photo of the set, with what the parent said of it. */
export type Photo = {
  /** Made here; the same however often it is sent. */
  readonly key: string;
  readonly ordinal: number;
  readonly view: View;
  readonly place: Place;
  readonly width: number;
  readonly height: number;
  readonly takenAt: number | null;
  readonly card: PhotoCard | null;
  readonly isTurnedBack: boolean;
  readonly isMirrorSettled: boolean;
  readonly advice: readonly PhotoAdvice[];
  readonly isFloorDown: boolean;
  readonly head: { readonly x: number; readonly y: number } | null;
  readonly facing: Facing | null;
  /** The clip that this photo is a frame of. */
  readonly clip?: { readonly key: string; readonly bytes: ArrayBuffer };
};

const UNASKED = { isFloorDown: false, head: null, facing: null } as const;

export const arrived = ({ photoId, ...said }: Uploaded, key: string, ordinal: number, view: View): Photo =>
  ({ ...said, key, ordinal, view, place: { on: "server", photoId, turns: 0 }, advice: photoAdvice(said), ...UNASKED });

export const madeHere = (made: ReadyMade, key: string, ordinal: number, view: View, cards: readonly string[]): Photo => {
  const { width, height, takenAt, isTurnedBack, advice } = made;
  const card = cardSaid(made.card, cards);
  return { key, ordinal, view, place: { on: "phone", made }, width, height, takenAt, card, isTurnedBack, isMirrorSettled: card?.found === "one", advice, ...UNASKED };
};

function cardSaid(finding: CardFinding | null, cards: readonly string[]): PhotoCard | null {
  if (finding?.found !== "one") return finding;
  const { number, turnToUpright } = finding.reading;
  return { found: "one", owner: cards.includes(number) ? "this-child" : "not-this-child", turnToUpright };
}

/** The address of the picture on the screen. */
export const srcOf = ({ place }: Photo, childId: string): string =>
  place.on === "phone" ? place.made.src : `/media/${childId}/${place.photoId}/1024?turns=${place.turns}`;

export type Said = "ask" | "disagree" | "opposite" | "matches" | "looks-right" | "cannot-tell";

/** What the screen says of one photo: still asking, a slip, a stop, or nothing that proves anything. */
export function saidOf(photo: Photo, lieOn: Side): Said {
  if (!photo.isFloorDown) return "ask";
  const seen: Seen = { view: photo.view, head: photo.head, facing: photo.facing, mirrored: photo.isMirrorSettled ? "no" : "unknown" };
  const why = whyCannotTell(seen);
  if (why === "view-and-facing-disagree") return "disagree";
  if (why === "head-missing" || (why === "facing-unsure" && photo.facing === null)) return "ask";
  const check = sideCheck(seen, lieOn);
  if (isOppositeCheck(check)) return "opposite";
  return check === "looks-right-not-proven" ? "looks-right" : check === "matches" ? "matches" : "cannot-tell";
}

export const isDone = (said: Said): boolean => said === "looks-right" || said === "matches" || said === "cannot-tell";

/** A photo whose file does not prove that it is newer than the last answer has its time asked for. */
export const asksWhen = (photos: readonly Photo[], lastAnswerAt: number | null): boolean =>
  photos.some(({ takenAt }) => takenAt === null || takenAt <= (lastAnswerAt ?? -Infinity) || takenAt > Date.now() + 300_000);
