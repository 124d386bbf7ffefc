import "server-only";
import { patternName } from "@/app/desk/queue-words";
import type { Actor } from "@/lib/access/actor";
import type { Pattern } from "@/lib/domain/curve/record";
import type { GroupFigures } from "@/lib/domain/stats/answer-figures";
import { formatLocalDate } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import type { FiguresGroup } from "@/lib/records/answer-times";
import type { By } from "@/lib/records/figures-by";
import { exerciseWords } from "@/lib/records/exercise-names";
import { personName } from "@/lib/records/standing";

export type Group = {
  readonly key: string;
  readonly word: string;
  readonly figures: GroupFigures;
  /** False by colleague: who will answer those still waiting is unknown, and without them a curve would flatter. */
  readonly hasCurve: boolean;
};

/** The groups with what each is called. */
export function namedGroups(by: By, groups: readonly FiguresGroup[], patterns: ReadonlyMap<string, Pattern>, { practiceId }: Actor): readonly Group[] {
  const t = say("times");
  const words: Readonly<Record<By, (key: string) => string>> = {
    week: (monday) => t("week", { date: formatLocalDate(monday) }),
    exercise: (key) => exerciseWords(practiceId, key, null).title,
    pattern: (key) => patternName(patterns.get(key) ?? { key, curves: [], notAssessed: [] }),
    colleague: (id) => personName(practiceId, id) ?? t("nobody"),
    nth: (key) => t(key),
  };
  return groups.map(({ key, figures }) => ({ key, word: words[by](key), figures, hasCurve: by !== "colleague" }));
}
