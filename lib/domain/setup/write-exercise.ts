import { SIDE_DOWN } from "@/lib/domain/answering/check-answer";
import { REGIONS, type Region } from "@/lib/domain/curve/region";
import { buildExercise, phasesOf, type Written } from "@/lib/domain/setup/build-exercise";
import type { CurveSide, Exercise } from "@/lib/domain/setup/exercise";
import type { ExerciseDraft, ItemDraft, RuleDraft } from "@/lib/domain/setup/exercise-draft";
import { CAUTION_LENGTH, CAUTIONS_MOST, TITLE_LENGTH } from "@/lib/domain/setup/exercise-words.schema";
import { isAbsent } from "@/lib/domain/setup/individual";
import { fittingVariations } from "@/lib/domain/setup/resolve";
import { ALL_PATTERNS, recordOfPattern, type PatternStates } from "@/lib/domain/setup/resolve-all";
import type { Phase } from "@/lib/domain/setup/vocabulary";
import { namesSide } from "@/lib/domain/words/typed-sides";

/** What stands in the way of a version. Worded in the exercises messages under `problem`. */
export const WRITING_PROBLEMS = [
  "title-length", "names-side", "caution-length", "cautions-many", "dose", "phase-unused", "items-many", "title-twice", "phase-open", "phase-not-taught",
  "evidence-open", "views-open", "stop-unseen", "required-unseen", "side-down-missing", "side-down-weak", "rules-missing", "rules-many", "pick-open",
  "without-curve", "pair-without-curve", "side-without-curve", "breath-side", "arm-not-up", "activation-not-taught", "rule-without-side-down",
  "item-not-there", "phase-without-item", "rules-overlap", "form",
] as const;
export type WritingProblem = {
  /** The form's field it is about. */
  readonly field: string;
  readonly code: (typeof WRITING_PROBLEMS)[number];
  readonly item?: string;
  readonly phase?: Phase;
  /** A pattern that shows it. */
  readonly pattern?: PatternStates;
};

export const ITEMS_MOST = 30;
export const RULES_MOST = 12;
export const DOSE_MOST = 20;

/**
 * A draft held against what may be taught: the problems by field, and the version itself once it is
 * whole enough to be tried on every pattern. It may be saved only while there are no problems.
 * The guards are common practice, no source, but that "not assessed" never counts as none.
 */
export function checkExercise(draft: ExerciseDraft, key: string, version: number): { readonly problems: readonly WritingProblem[]; readonly written: Written | null } {
  const problems = [...wordProblems(draft), ...phaseProblems(draft), ...itemProblems(draft), ...ruleProblems(draft)];
  // An open pick is no "none": nothing is tried out until it is made.
  const written = problems.some((each) => each.code === "pick-open") ? null : buildExercise(draft, key, version);
  const overlaps = written ? overlapProblems(written.exercise) : [];
  const all = [...problems, ...overlaps];
  return { problems: written === null && all.length === 0 ? [{ field: "title", code: "form" }] : all, written };
}

function wordProblems({ title, cautions, dose }: ExerciseDraft): readonly WritingProblem[] {
  const isDose = (n: number) => Number.isInteger(n) && n >= 1 && n <= DOSE_MOST;
  return found(
    [!isLine(title, TITLE_LENGTH), { field: "title", code: "title-length" }],
    [namesSide(title), { field: "title", code: "names-side" }],
    [cautions.some((each) => !isLine(each, CAUTION_LENGTH)), { field: "cautions", code: "caution-length" }],
    [cautions.length > CAUTIONS_MOST, { field: "cautions", code: "cautions-many" }],
    [cautions.some(namesSide), { field: "cautions", code: "names-side" }],
    [!isDose(dose.breaths), { field: "breaths", code: "dose" }],
    [!isDose(dose.times), { field: "times", code: "dose" }],
  );
}

const isLine = (text: string, most: number): boolean => text.trim().length >= 3 && text.trim().length <= most;

function phaseProblems({ phases, rules }: ExerciseDraft): readonly WritingProblem[] {
  const isUnused = (phase: Phase) => phase === "activation" && rules.every((rule) => rule.activation === null || rule.activation === "none");
  return phases.flatMap((phase): WritingProblem[] => (rules.length > 0 && isUnused(phase) ? [{ field: `phase.${phase}`, code: "phase-unused", phase }] : []));
}

function itemProblems({ items, phases }: ExerciseDraft): readonly WritingProblem[] {
  const isTwice = (item: ItemDraft) => items.some((other) => other.key !== item.key && other.title.trim().toLowerCase() === item.title.trim().toLowerCase());
  const sideDown = items.find((item) => item.key === SIDE_DOWN);
  return [
    ...found(
      [items.length > ITEMS_MOST, { field: "items", code: "items-many" }],
      [sideDown === undefined, { field: "items", code: "side-down-missing" }],
      [sideDown !== undefined && !(sideDown.isStop && sideDown.sideDependent && sideDown.phase === "position" && sideDown.views.length > 0),
        { field: `item.${SIDE_DOWN}.title`, code: "side-down-weak" }],
    ),
    ...items.flatMap((item) => {
      const at = (part: string) => `item.${item.key}.${part}`;
      return found(
        [!isLine(item.title, TITLE_LENGTH), { field: at("title"), code: "title-length" }],
        [namesSide(item.title), { field: at("title"), code: "names-side" }],
        [isLine(item.title, TITLE_LENGTH) && isTwice(item), { field: at("title"), code: "title-twice" }],
        [item.phase === null, { field: at("phase"), code: "phase-open" }],
        [item.phase !== null && !phases.includes(item.phase), { field: at("phase"), code: "phase-not-taught" }],
        [item.evidence.length === 0, { field: at("evidence"), code: "evidence-open" }],
        [item.views.length === 0, { field: at("views"), code: "views-open" }],
        // A family that can send photos only must be able to show it, or a stop could never be lifted.
        [item.isStop && !item.evidence.includes("still"), { field: at("evidence"), code: "stop-unseen" }],
        [!item.isStop && item.requiredForGo && !item.evidence.includes("still"), { field: at("evidence"), code: "required-unseen" }],
      );
    }),
  ];
}

function ruleProblems(draft: ExerciseDraft): readonly WritingProblem[] {
  return [
    ...found(
      [draft.rules.length === 0, { field: "rules", code: "rules-missing" }],
      [draft.rules.length > RULES_MOST, { field: "rules", code: "rules-many" }],
    ),
    ...draft.rules.flatMap((rule) => [...openPicks(rule), ...conditionProblems(rule), ...bodyProblems(draft, rule), ...ruleItemProblems(draft, rule)]),
  ];
}

const PICKS = ["coverage", "lieOn", "propKind", "topArm", "bottomArm", "topLeg", "bottomLeg", "breath", "breatheInto", "movement", "activation"] as const;

const openPicks = (rule: RuleDraft): readonly WritingProblem[] => [
  ...REGIONS.filter((region) => rule.when[region] === null).map((region) => `when.${region}`),
  ...PICKS.filter((pick) => rule[pick] === null),
  ...(rule.propKind !== null && rule.propKind !== "none" && rule.propPlace === null ? ["propPlace"] : []),
].map((part) => ({ field: `rule.${rule.key}.${part}`, code: "pick-open" }));

function conditionProblems(rule: RuleDraft): readonly WritingProblem[] {
  const at = (part: string) => `rule.${rule.key}.${part}`;
  const isCurve = (region: Region) => rule.when[region] === "curve";
  const isNamed = (side: CurveSide | "none" | null) => side === null || side === "none" || REGIONS.some((region) => isCurve(region) && side.replace(/-con(?:vex|cave)$/, "") === region);
  return found(
    [REGIONS.every((region) => rule.when[region] === "none"), { field: at("when"), code: "without-curve" }],
    [rule.opposite.some((pair) => !pair.every(isCurve)), { field: at("opposite"), code: "pair-without-curve" }],
    [!isNamed(rule.lieOn), { field: at("lieOn"), code: "side-without-curve" }],
    [!isNamed(rule.breatheInto), { field: at("breatheInto"), code: "side-without-curve" }],
  );
}

/** The same things that hold an individual set-up together. */
function bodyProblems({ phases }: ExerciseDraft, rule: RuleDraft): readonly WritingProblem[] {
  const at = (part: string) => `rule.${rule.key}.${part}`;
  const hasActivation = rule.activation !== null && rule.activation !== "none";
  const isArmDown = rule.topArm !== null && rule.topArm !== "up";
  return found(
    [rule.breath !== null && rule.breatheInto !== null && (rule.breath === "widen-upper-back") !== (rule.breatheInto !== "none"), { field: at("breatheInto"), code: "breath-side" }],
    [isArmDown && (rule.movement === "blade-slide-and-leg-reach" || hasActivation), { field: at("topArm"), code: "arm-not-up" }],
    [hasActivation && !phases.includes("activation"), { field: at("activation"), code: "activation-not-taught" }],
  );
}

function ruleItemProblems(draft: ExerciseDraft, rule: RuleDraft): readonly WritingProblem[] {
  const field = `rule.${rule.key}.items`;
  const own = draft.items.filter((item) => rule.items.includes(item.key));
  const body = bodyOf(rule);
  const absent = own.filter((item) => item.phase !== null && body !== null && isAbsent({ key: item.key, phase: item.phase }, body));
  const bare = phasesOf(draft, rule).filter((phase) => !own.some((item) => item.phase === phase));
  return [
    ...found([!rule.items.includes(SIDE_DOWN), { field, code: "rule-without-side-down" }]),
    ...absent.map((item): WritingProblem => ({ field, code: "item-not-there", item: item.title })),
    // A phase without an item would be opened with nothing to judge it by.
    ...bare.map((phase): WritingProblem => ({ field, code: "phase-without-item", phase })),
  ];
}

function bodyOf({ propKind, propPlace, topArm, movement, activation }: RuleDraft) {
  if (propKind === null || topArm === null || movement === null || activation === null) return null;
  if (propKind !== "none" && propPlace === null) return null;
  return { prop: propKind === "none" || propPlace === null ? null : { place: propPlace }, topArm, movement, activation: activation === "none" ? null : activation };
}

/** Two rules that fit the same pattern would be a choice, and nobody may choose. One pattern for each pair. */
function overlapProblems(exercise: Exercise): readonly WritingProblem[] {
  const seen = new Map<string, PatternStates>();
  for (const states of ALL_PATTERNS) {
    const [, second] = fittingVariations(exercise, recordOfPattern(states));
    if (second && !seen.has(second.key)) seen.set(second.key, states);
  }
  return [...seen].map(([key, pattern]) => ({ field: `rule.${key}.when`, code: "rules-overlap", pattern }));
}

function found(...cases: readonly (readonly [boolean, WritingProblem])[]): readonly WritingProblem[] {
  return cases.flatMap(([isSo, problem]) => (isSo ? [problem] : []));
}
