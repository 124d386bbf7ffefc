import { SIDE_DOWN } from "@/lib/domain/answering/check-answer";
import type { Verdict } from "@/lib/domain/setup/vocabulary";
import { ended } from "@/lib/domain/words/cue";

/** One item as it stands in the form; `words` are what the family would read about a fault, or empty. */
export type Judged = {
  readonly itemKey: string;
  readonly title: string;
  readonly isStop: boolean;
  readonly isAsked: boolean;
  readonly verdict: Verdict | null;
  readonly words: string;
};

/** Whole sentences with this child's name and sides in them; `{items}` and `{words}` are filled here. */
export type ProposalWords = {
  readonly sideRight: string;
  readonly sideWrong: string;
  readonly sideUnseen: string;
  readonly stop: string;
  readonly change: string;
  /** Of faults with no words of their own: a title alone would read as what to do, or as what is wrong. */
  readonly notYet: string;
  readonly restInPlace: string;
  readonly unseen: string;
};

/**
 * A summary that says no more than the verdicts do, for the therapist to keep or change; null until
 * the side down is judged. The sentences come from the message catalogue.
 */
export function proposeSummary(judged: readonly Judged[], words: ProposalWords): string | null {
  const side = judged.find((each) => each.itemKey === SIDE_DOWN)?.verdict ?? null;
  if (side === null) return null;
  const others = judged.filter((each) => each.itemKey !== SIDE_DOWN);
  const said = (some: readonly Judged[]) => some.map((each) => ended(each.words.trim() || each.title)).join(" ");
  const titles = (some: readonly Judged[]) => some.map((each) => each.title).join(", ");
  const faults = others.filter((each) => each.verdict === "fix");
  const stops = faults.filter((each) => each.isStop);
  const changes = faults.filter((each) => !each.isStop && each.words.trim() !== "");
  const untold = faults.filter((each) => !each.isStop && each.words.trim() === "");
  const unseen = others.filter((each) => each.verdict === "not-visible");
  const isAllJudged = others.every((each) => !each.isAsked || each.verdict !== null);
  const sideWords = judged.find((each) => each.itemKey === SIDE_DOWN && each.verdict === "fix")?.words.trim() ?? "";
  return [
    side === "in-place" ? words.sideRight : side === "fix" ? [words.sideWrong, ended(sideWords)].join(" ").trim() : words.sideUnseen,
    stops.length > 0 ? words.stop.replace("{words}", () => said(stops)) : "",
    changes.length > 0 ? words.change.replace("{words}", () => said(changes)) : "",
    untold.length > 0 ? words.notYet.replace("{items}", () => titles(untold)) : "",
    unseen.length > 0 ? words.unseen.replace("{items}", () => titles(unseen)) : "",
    // A stop is not softened by what is right beside it.
    side !== "fix" && stops.length === 0 && isAllJudged && others.some((each) => each.verdict === "in-place") ? words.restInPlace : "",
  ].filter((each) => each !== "").join(" ");
}

/** What usually follows: a new photo while anything has to change or was not seen. Null until something is judged. */
export function proposeNextStep(judged: readonly Judged[]): "new-photo" | "keep-going" | null {
  if (judged.every((each) => each.verdict === null)) return null;
  return judged.some((each) => each.verdict === "fix" || each.verdict === "not-visible") ? "new-photo" : "keep-going";
}
