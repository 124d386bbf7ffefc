import type { Uploaded } from "@/app/family/send/upload";
import { photoAdvice, type PhotoAdvice } from "@/lib/domain/photo/advice";
import { isOppositeCheck, sideCheck, whyCannotTell, type Seen } from "@/lib/domain/setup/side-check";
import type { View } from "@/lib/domain/setup/vocabulary";
import type { Side } from "@/lib/domain/sides";

export type Words = Readonly<Record<string, string>>;
export type Facing = "front" | "back" | "unsure";

/** One photo that has arrived, with what the parent said of it. */
export type Photo = Uploaded & {
  readonly ordinal: number;
  readonly view: View;
  readonly advice: readonly PhotoAdvice[];
  /** Counts the turns, so that the browser asks for the new picture. */
  readonly turns: number;
  readonly isFloorDown: boolean;
  readonly head: { readonly x: number; readonly y: number } | null;
  readonly facing: Facing | null;
};

export const arrived = (photo: Uploaded, ordinal: number, view: View): Photo =>
  ({ ...photo, ordinal, view, advice: photoAdvice(photo), turns: 0, isFloorDown: false, head: null, facing: null });

export type Said = "ask" | "disagree" | "opposite" | "looks-right" | "cannot-tell";

/** What the screen says of one photo: still asking, a slip, a stop, or nothing that proves anything. */
export function saidOf(photo: Photo, lieOn: Side): Said {
  if (!photo.isFloorDown) return "ask";
  const seen: Seen = { view: photo.view, head: photo.head, facing: photo.facing, mirrored: "unknown" };
  const why = whyCannotTell(seen);
  if (why === "view-and-facing-disagree") return "disagree";
  if (why === "head-missing" || (why === "facing-unsure" && photo.facing === null)) return "ask";
  const check = sideCheck(seen, lieOn);
  if (isOppositeCheck(check)) return "opposite";
  return check === "cannot-tell" ? "cannot-tell" : "looks-right";
}

export const isDone = (said: Said): boolean => said === "looks-right" || said === "cannot-tell";

/** A photo whose file does not prove that it is newer than the last answer has its time asked for. */
export const asksWhen = (photos: readonly Photo[], lastAnswerAt: number | null): boolean =>
  photos.some(({ takenAt }) => takenAt === null || takenAt <= (lastAnswerAt ?? -Infinity) || takenAt > Date.now() + 300_000);
