/** Phases in the order a child goes through them; the therapist opens each. */
export const PHASES = ["position", "breath", "movement", "activation"] as const;
export type Phase = (typeof PHASES)[number];

export const VIEWS = ["behind", "front", "head-end", "other"] as const;
export type View = (typeof VIEWS)[number];

export const VERDICTS = ["in-place", "fix", "not-visible", "not-part"] as const;
export type Verdict = (typeof VERDICTS)[number];

/** What can show an item: a still photo, a short clip, or only being there. */
export const EVIDENCE = ["still", "clip", "live"] as const;
export type Evidence = (typeof EVIDENCE)[number];

export const COVERAGES = ["covered", "adapted", "not-covered"] as const;
export type Coverage = (typeof COVERAGES)[number];

/** Weakest first; the strongest wins. */
export const GO_AHEADS = ["go", "go-and-fix", "photo-first", "not-yet", "stop"] as const;
export type GoAheadState = (typeof GO_AHEADS)[number];

export const ITEM_STATES = ["not-seen-yet", "working-on", "settled", "slipped"] as const;
export type ItemState = (typeof ITEM_STATES)[number];
