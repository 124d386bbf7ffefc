import type { GivenVerdict } from "@/lib/domain/answering/check-answer";
import type { ResolvedItem } from "@/lib/domain/setup/resolve";

/** How long an answer without a stop can be taken back before the family reads it (PRODUCT, section 5), ms. */
export const TAKE_BACK_MS = 30_000;

/** When an answer sent now is published, epoch ms: at once when it holds a stop, for nobody waits for danger. */
export function publishedFrom(items: readonly ResolvedItem[], verdicts: readonly GivenVerdict[], now: number): number {
  return holdsStop(items, verdicts) ? now : now + TAKE_BACK_MS;
}

/** Whether these verdicts stop the exercise: a stop item stands at `fix`. */
export const holdsStop = (items: readonly ResolvedItem[], verdicts: readonly GivenVerdict[]): boolean =>
  items.some((item) => item.isStop && verdicts.some((each) => each.itemKey === item.key && each.verdict === "fix"));
