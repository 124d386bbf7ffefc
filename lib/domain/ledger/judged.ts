import type { Verdict } from "@/lib/domain/setup/vocabulary";

/**
 * One verdict on one item, from an answer or from a visit or call. Instants are UTC milliseconds.
 * The caller leaves out the verdicts of voided photo sets and of versions an amendment replaced.
 */
export type JudgedItem = {
  readonly itemKey: string;
  readonly verdict: Verdict;
  /** The exercise says this is a stop item. Kept here so that a stop outlives its set-up. */
  readonly isStop: boolean;
  readonly judgedAt: number;
  readonly judgedBy: string;
  readonly source: "answer" | "seen-live";
  /**
   * When the photo was taken, by its own record, or the child was seen. Null when unknown: a time
   * a parent remembers is no proof and never lifts a stop. Where only a day is known, the start of
   * that day: the earliest it can have been, so that it never lifts a stop by luck.
   */
  readonly evidenceAt: number | null;
  /** The sides of the set-up in force when judged. */
  readonly sidesKey: string;
  /** Order of recording; greater is later. Unique within one child and exercise. */
  readonly sequence: number;
};

/** A verdict with the cue given with it: the words the family read, its sides already filled in. */
export type JudgedItemWithCue = JudgedItem & { readonly cue: string | null };

/** The sides a set-up asks for, as one opaque key, and since when they have been asked for. */
export type SidesInForce = {
  readonly key: string;
  /**
   * The confirmation that brought these sides in. Confirming the same sides again does not move
   * it; changing to the other side and back does, so that old verdicts do not come to life again.
   */
  readonly since: number;
};
