import type { View } from "@/lib/domain/setup/vocabulary";
import { opposite, type Side } from "@/lib/domain/sides";

/** What anyone can see in an upright photo whose floor is at the bottom. */
export type Seen = {
  readonly view: View;
  /** Where the head was tapped, as fractions of the photo from its top left corner; null when it was not. */
  readonly head: { readonly x: number; readonly y: number } | null;
  /** Whether the child's front or back faces the camera. */
  readonly facing: "front" | "back" | "unsure" | null;
  /** Whether the picture is mirror-reversed, by proof or by a member of staff's decision. */
  readonly mirrored: "yes" | "no" | "unknown";
};

export const SIDE_CHECKS = ["opposite", "matches", "looks-opposite", "looks-right-not-proven", "cannot-tell"] as const;
export type SideCheck = (typeof SIDE_CHECKS)[number];

/**
 * A head tapped nearer to the middle than this fraction of the width does not say which way it
 * lies: a child who fills half the picture may have the head there at either end.
 */
export const TOO_NEAR_MIDDLE = 0.15;

/** Why a picture cannot tell; the first that holds. `view-and-facing-disagree` is a slip to ask again about. */
export const CANNOT_TELL = ["view", "facing-unsure", "view-and-facing-disagree", "head-missing", "head-near-middle"] as const;
export type CannotTell = (typeof CANNOT_TELL)[number];

type Vector = readonly [x: number, y: number, z: number];
const FLOOR: Vector = [0, -1, 0];

/** Null when the picture can tell. Views from the head end or the foot end, from above and oblique ones cannot. */
export function whyCannotTell({ view, head, facing }: Seen): CannotTell | null {
  if (view !== "behind" && view !== "front") return "view";
  if (facing !== "front" && facing !== "back") return "facing-unsure";
  if (facing !== (view === "behind" ? "back" : "front")) return "view-and-facing-disagree";
  const isInPicture = (at: number): boolean => at >= 0 && at <= 1;
  if (head === null || !isInPicture(head.x) || !isInPicture(head.y)) return "head-missing";
  return Math.abs(head.x - 0.5) < TOO_NEAR_MIDDLE ? "head-near-middle" : null;
}

/**
 * The child's side that is down, taking an unknown picture as not mirror-reversed; null when the
 * picture cannot tell. With x to the right, y up and z toward the viewer, the child's left is
 * superior × anterior; the side down is the sign of (superior × anterior) · floor.
 */
export function sideDown(seen: Seen): Side | null {
  if (seen.head === null || whyCannotTell(seen) !== null) return null;
  const superior: Vector = [seen.head.x > 0.5 ? 1 : -1, 0, 0];
  const anterior: Vector = [0, 0, seen.facing === "front" ? 1 : -1];
  const down: Side = dot(cross(superior, anterior), FLOOR) > 0 ? "left" : "right";
  return seen.mirrored === "yes" ? opposite(down) : down;
}

/**
 * Compares the side down with the set-up's. It advises; the therapist judges. Without proof about
 * mirroring an agreeing picture is never called right: a wrong tap and a mirrored picture together
 * look right too.
 */
export function sideCheck(seen: Seen, expected: Side): SideCheck {
  const down = sideDown(seen);
  if (down === null) return "cannot-tell";
  if (seen.mirrored === "unknown") return down === expected ? "looks-right-not-proven" : "looks-opposite";
  return down === expected ? "matches" : "opposite";
}

/** A family is stopped on either. */
export const isOppositeCheck = (check: SideCheck): boolean => check === "opposite" || check === "looks-opposite";

const cross = ([ax, ay, az]: Vector, [bx, by, bz]: Vector): Vector => [ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx];
const dot = ([ax, ay, az]: Vector, [bx, by, bz]: Vector): number => ax * bx + ay * by + az * bz;
