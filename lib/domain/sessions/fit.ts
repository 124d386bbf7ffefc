/** `own-setup`: written for this child alone, so what the group is taught is not theirs. */
export const FITS = ["fits", "no-record", "record-past", "other-pattern", "no-setup", "own-setup"] as const;
export type Fit = (typeof FITS)[number];

export type FitFacts = {
  /** The current curve record; `isPast` once its reassessment date is over. */
  readonly record: { readonly id: string; readonly patternKey: string; readonly isPast: boolean } | null;
  /** The newest confirmed set-up of the session's exercise. */
  readonly setup: { readonly curveRecordId: string; readonly kind: "rule" | "individual" } | null;
  /** The exercise's rules refuse this record. */
  readonly isNotCovered: boolean;
};

/**
 * Whether a child may be taught a session's exercise in its group: the same curve pattern on a record in
 * force, and a set-up confirmed from that very record by the rules. Anything less is refused, never guessed:
 * the mirror image of an exercise works against the child.
 */
export function fitOf({ record, setup, isNotCovered }: FitFacts, patternKey: string): Fit {
  if (record === null) return "no-record";
  if (record.isPast) return "record-past";
  if (record.patternKey !== patternKey) return "other-pattern";
  if (setup === null || setup.curveRecordId !== record.id) return "no-setup";
  if (setup.kind === "individual") return "own-setup";
  return isNotCovered ? "no-setup" : "fits";
}
