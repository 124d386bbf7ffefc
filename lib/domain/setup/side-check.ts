import type { View } from "@/lib/domain/setup/vocabulary";
import type { Side } from "@/lib/domain/sides";

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

/** A head tapped nearer to the middle than this fraction of the width does not say which way it lies. */
const TOO_NEAR_MIDDLE = 0.08;

type Vector = readonly [x: number, y: number, z: number];
const FLOOR: Vector = [0, -1, 0];

/**
 * The side that is down. With x to the right, y up and z toward the viewer, the child's left is
 * superior × anterior; the side down is the sign of (superior × anterior) · floor. Null when the
 * picture cannot tell: from the head end or another way, or without a clear head and facing.
 */
export function sideDown({ view, head, facing, mirrored }: Seen): Side | null {
  if (view !== "behind" && view !== "front") return null;
  // What the view says and what the parent saw must agree; else one of the two is a slip.
  if (facing !== (view === "behind" ? "back" : "front")) return null;
  if (head === null || Math.abs(head.x - 0.5) < TOO_NEAR_MIDDLE) return null;
  const superior: Vector = [head.x > 0.5 ? 1 : -1, 0, 0];
  const anterior: Vector = [0, 0, facing === "front" ? 1 : -1];
  const towardFloor = dot(cross(superior, anterior), FLOOR);
  const seen: Side = towardFloor > 0 ? "left" : "right";
  if (mirrored !== "yes") return seen;
  return seen === "left" ? "right" : "left";
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
