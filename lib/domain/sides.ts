/** The child's own left and right. Never the viewer's, never the picture's. */
export const SIDES = ["left", "right"] as const;
export type Side = (typeof SIDES)[number];

export const opposite = (side: Side): Side => (side === "left" ? "right" : "left");
