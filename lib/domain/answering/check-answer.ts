import type { ChecklistRow } from "@/lib/domain/answering/checklist";
import { holdsStop } from "@/lib/domain/answering/publication";
import { ok, refuse, type Result } from "@/lib/domain/result";
import type { SetupSides } from "@/lib/domain/setup/setup-sides";
import { isOppositeCheck, type SideCheck } from "@/lib/domain/setup/side-check";
import type { Verdict } from "@/lib/domain/setup/vocabulary";
import { typedSides } from "@/lib/domain/words/typed-sides";

/** The item by which the therapist says which side is down. */
export const SIDE_DOWN = "side-down";

export type GivenVerdict = {
  readonly itemKey: string;
  readonly verdict: Verdict;
  /** The words the family will read for a fault, sides filled in. */
  readonly cue: string | null;
  /** The library's cue among them; null for own words alone. */
  readonly cueId: string | null;
};

/** The reason given for going against the set-up's words or the computed check, in the therapist's words. */
export type Confirmation = { readonly sideReason: string; readonly wordsConfirmed: boolean };

/**
 * Every asked item that `go` needs has its verdict, and every stop item is judged one by one.
 * Refused: `stop-item-unjudged`, `verdicts-missing`, `form-invalid` (an item that is not offered,
 * one judged twice, a stop item said to be no part of the exercise).
 */
export function checkVerdicts(rows: readonly ChecklistRow[], given: readonly GivenVerdict[]): Result<null> {
  const keys = given.map((each) => each.itemKey);
  const offered = new Map(rows.map((row) => [row.item.key, row.item]));
  if (new Set(keys).size !== keys.length || !keys.every((key) => offered.has(key))) return refuse("form-invalid", { field: "verdicts" });
  const wrong = given.find((each) => each.verdict === "not-part" && offered.get(each.itemKey)?.isStop === true);
  if (wrong) return refuse("form-invalid", { field: `verdict.${wrong.itemKey}` });
  const missing = rows.filter((row) => row.isAsked && !keys.includes(row.item.key)).map((row) => row.item);
  const stop = missing.find((item) => item.isStop);
  if (stop) return refuse("stop-item-unjudged", { field: `verdict.${stop.key}` });
  const required = missing.find((item) => item.requiredForGo);
  if (required) return refuse("verdicts-missing", { field: `verdict.${required.key}` });
  return ok(null);
}

export const NEXT_STEPS = ["new-photo", "keep-going", "open-next-phase", "book-assessment"] as const;
export type NextStep = (typeof NEXT_STEPS)[number];

/** An answer that stops the exercise never says, in the same breath, to go on with it or further. */
export function checkNextStep(rows: readonly ChecklistRow[], given: readonly GivenVerdict[], nextStep: NextStep): Result<null> {
  const goesOn = nextStep === "keep-going" || nextStep === "open-next-phase";
  return goesOn && holdsStop(rows.map((row) => row.item), given) ? refuse("stop-next-step", { field: "nextStep" }) : ok(null);
}

/** Words a person typed, by the field they stand in. */
export type Typed = { readonly field: string; readonly text: string };

/** Every "left" and "right" typed by hand agrees with the set-up, or was looked at again and kept with a reason. */
export function checkTypedSides(typed: readonly Typed[], setup: SetupSides, confirmation: Confirmation): Result<null> {
  if (confirmation.wordsConfirmed && hasWords(confirmation.sideReason)) return ok(null);
  const wrong = typed.find(({ text }) => typedSides(text, setup).some((side) => side.agrees === false));
  return wrong ? refuse("words-side-disagree", { field: wrong.field }) : ok(null);
}

/** The summary stands alone for whoever reads nothing else, so it says the side. */
export function checkSummary(summary: string, setup: SetupSides): Result<null> {
  if (!hasWords(summary)) return refuse("summary-missing", { field: "summary" });
  return typedSides(summary, setup).length > 0 ? ok(null) : refuse("summary-side-missing", { field: "summary" });
}

/**
 * The computed check advises and the therapist judges; where they differ, a reason is asked for.
 * Saying nothing about a picture that looks opposite differs from it too.
 */
export function checkSideVerdict(verdict: Verdict | null, checks: readonly (SideCheck | null)[], sideReason: string): Result<null> {
  const looksOpposite = checks.some((check) => check !== null && isOppositeCheck(check));
  const looksRight = checks.some((check) => check === "matches" || check === "looks-right-not-proven");
  const differs = (verdict !== "fix" && looksOpposite) || (verdict === "fix" && looksRight && !looksOpposite);
  return differs && !hasWords(sideReason) ? refuse("side-check-disagree", { field: "sideReason" }) : ok(null);
}

const hasWords = (text: string): boolean => text.trim().length >= 3;
