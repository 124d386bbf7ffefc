import { SIDE_DOWN } from "@/lib/domain/answering/check-answer";
import { REGIONS, type Region } from "@/lib/domain/curve/region";
import {
  ACTIVATIONS, BOTTOM_ARM_POSITIONS, BOTTOM_LEG_POSITIONS, BREATHS, MOVEMENTS, PROP_KINDS, PROP_PLACES, TOP_ARM_POSITIONS, TOP_LEG_POSITIONS,
  type CurveSide, type Exercise, type Variation,
} from "@/lib/domain/setup/exercise";
import type { ExerciseDraft, ItemDraft, RuleDraft } from "@/lib/domain/setup/exercise-draft";
import type { ExerciseWords } from "@/lib/domain/setup/exercise-words.schema";
import { EVIDENCE, PHASES, VIEWS } from "@/lib/domain/setup/vocabulary";

/** A form's fields by name; a tick is "yes" or absent. */
export type Fields = Readonly<Record<string, string>>;

export const COVERED_KINDS = ["covered", "adapted"] as const;
export const PRESENCES = ["curve", "none"] as const;
export const CURVE_SIDES: readonly CurveSide[] = REGIONS.flatMap((region) => [`${region}-convex`, `${region}-concave`] as const);
/** Pairs of regions, the one nearer the head first. */
export const REGION_PAIRS: readonly (readonly [Region, Region])[] =
  REGIONS.flatMap((one, at) => REGIONS.slice(at + 1).map((other) => [one, other] as const));

export const pairName = ([one, other]: readonly [Region, Region]): string => `${one}+${other}`;

/** The keys in a hidden field's order. */
export const keysIn = (fields: Fields, list: "items" | "rules"): readonly string[] => [...new Set((fields[list] ?? "").split(" ").filter((key) => /^[a-z0-9-]{1,64}$/.test(key)))];

const choiceOf = <T extends string>(list: readonly T[], value: string | undefined): T | null => list.find((each) => each === value) ?? null;

/** What the form holds. Whatever is no choice of the form's is open. */
export function draftOf(fields: Fields): ExerciseDraft {
  const isTicked = (name: string) => fields[name] === "yes";
  return {
    title: fields["title"] ?? "",
    cautions: (fields["cautions"] ?? "").split("\n").map((each) => each.trim()).filter((each) => each !== ""),
    phases: PHASES.filter((phase) => phase === "position" || isTicked(`phase.${phase}`)),
    dose: { breaths: Number(fields["breaths"] || Number.NaN), times: Number(fields["times"] || Number.NaN) },
    items: keysIn(fields, "items").map((key): ItemDraft => {
      const at = (part: string) => `item.${key}.${part}`;
      return {
        key,
        title: fields[at("title")] ?? "",
        phase: choiceOf(PHASES, fields[at("phase")]),
        evidence: EVIDENCE.filter((each) => isTicked(at(`evidence.${each}`))),
        views: VIEWS.filter((each) => isTicked(at(`view.${each}`))),
        isStop: isTicked(at("stop")),
        requiredForGo: isTicked(at("required")),
        sideDependent: isTicked(at("sides")),
      };
    }),
    rules: keysIn(fields, "rules").map((key) => ruleOf(fields, key)),
  };
}

function ruleOf(fields: Fields, key: string): RuleDraft {
  const pick = <T extends string>(part: string, list: readonly T[]): T | null => choiceOf(list, fields[`rule.${key}.${part}`]);
  const none = ["none"] as const;
  return {
    key,
    coverage: pick("coverage", COVERED_KINDS),
    when: {
      "proximal-thoracic": pick("when.proximal-thoracic", PRESENCES), thoracic: pick("when.thoracic", PRESENCES),
      thoracolumbar: pick("when.thoracolumbar", PRESENCES), lumbar: pick("when.lumbar", PRESENCES),
    },
    opposite: REGION_PAIRS.filter((pair) => fields[`rule.${key}.opposite.${pairName(pair)}`] === "yes"),
    lieOn: pick("lieOn", CURVE_SIDES),
    propKind: pick("propKind", [...none, ...PROP_KINDS]),
    propPlace: pick("propPlace", PROP_PLACES),
    topArm: pick("topArm", TOP_ARM_POSITIONS),
    bottomArm: pick("bottomArm", BOTTOM_ARM_POSITIONS),
    topLeg: pick("topLeg", TOP_LEG_POSITIONS),
    bottomLeg: pick("bottomLeg", BOTTOM_LEG_POSITIONS),
    breath: pick("breath", BREATHS),
    breatheInto: pick("breatheInto", [...none, ...CURVE_SIDES]),
    movement: pick("movement", MOVEMENTS),
    activation: pick("activation", [...none, ...ACTIVATIONS]),
    items: keysIn(fields, "items").filter((item) => fields[`rule.${key}.item.${item}`] === "yes"),
  };
}

/** A version as the form shows it, to be changed into the next one. Read back by `draftOf`. */
export function fieldsOf(exercise: Exercise, words: ExerciseWords): Fields {
  const ticks = (names: readonly string[]) => names.map((name) => [name, "yes"] as const);
  return Object.fromEntries([
    ["title", words.title], ["cautions", words.cautions.join("\n")],
    ["breaths", String(exercise.dose.breaths)], ["times", String(exercise.dose.times)],
    ...ticks(exercise.phases.map((phase) => `phase.${phase}`)),
    ["items", exercise.items.map((item) => item.key).join(" ")],
    ...exercise.items.flatMap((item) => [
      [`item.${item.key}.title`, words.items[item.key] ?? ""] as const, [`item.${item.key}.phase`, item.phase] as const,
      ...ticks([
        ...item.evidence.map((each) => `item.${item.key}.evidence.${each}`), ...item.views.map((each) => `item.${item.key}.view.${each}`),
        ...(item.isStop ? [`item.${item.key}.stop`] : []), ...(item.requiredForGo ? [`item.${item.key}.required`] : []),
        ...(item.sideDependent ? [`item.${item.key}.sides`] : []),
      ]),
    ]),
    ["rules", exercise.variations.map((each) => each.key).join(" ")],
    ...exercise.variations.flatMap(fieldsOfRule),
  ]);
}

function fieldsOfRule(rule: Variation): readonly (readonly [string, string])[] {
  const at = (part: string) => `rule.${rule.key}.${part}`;
  return [
    [at("coverage"), rule.coverage], [at("lieOn"), rule.lieOn], [at("propKind"), rule.prop?.kind ?? "none"],
    ...(rule.prop ? [[at("propPlace"), rule.prop.place] as const] : []),
    [at("topArm"), rule.topArm], [at("bottomArm"), rule.bottomArm], [at("topLeg"), rule.topLeg], [at("bottomLeg"), rule.bottomLeg],
    [at("breath"), rule.breath], [at("breatheInto"), rule.breatheInto ?? "none"], [at("movement"), rule.movement], [at("activation"), rule.activation ?? "none"],
    ...REGIONS.map((region) => [at(`when.${region}`), rule.when[region]] as const),
    ...rule.opposite.map((pair) => [at(`opposite.${pairName(inOrder(pair))}`), "yes"] as const),
    ...rule.items.map((item) => [at(`item.${item}`), "yes"] as const),
  ];
}

const inOrder = ([one, other]: readonly [Region, Region]): readonly [Region, Region] =>
  REGIONS.indexOf(one) < REGIONS.indexOf(other) ? [one, other] : [other, one];

/** A new exercise: nothing chosen but the one item every exercise has. */
export const blankFields = (title: string, sideDown: string): Fields => ({
  title, cautions: "", breaths: "", times: "", items: SIDE_DOWN, rules: "rule-1", ...sideDownFields(sideDown), ...newRule("rule-1"),
});

/** The side down is always asked, always stops, and starts again when the sides change. */
const sideDownFields = (title: string): Fields => Object.fromEntries([
  [`item.${SIDE_DOWN}.title`, title], [`item.${SIDE_DOWN}.phase`, "position"],
  ...["stop", "required", "sides", ...EVIDENCE.map((each) => `evidence.${each}`), ...VIEWS.map((each) => `view.${each}`)].map((part) => [`item.${SIDE_DOWN}.${part}`, "yes"]),
]);

/** Another exercise's version under a new name. Its rules get keys of their own: the shipped ones' words tell of the shipped rules. */
export function copyFields(exercise: Exercise, words: ExerciseWords, title: string): Fields {
  const variations = exercise.variations.map((each, at) => ({ ...each, key: `rule-${at + 1}` }));
  return { ...fieldsOf({ ...exercise, variations }, words), title };
}

/** Positions with one choice are chosen; the side down is asked in every rule. */
const newRule = (key: string): Fields => Object.fromEntries([
  [`rule.${key}.bottomArm`, BOTTOM_ARM_POSITIONS[0]], [`rule.${key}.topLeg`, TOP_LEG_POSITIONS[0]], [`rule.${key}.bottomLeg`, BOTTOM_LEG_POSITIONS[0]],
  [`rule.${key}.item.${SIDE_DOWN}`, "yes"],
]);

/**
 * The form after one of its buttons, such as `item-up:elbow-high`: an item or a rule added, moved or taken
 * out. Any other button changes nothing. Keys are made from the title and kept when the title changes.
 */
export function afterButton(fields: Fields, button: string): Fields {
  const [act = "", key = ""] = button.split(":");
  const [list, change] = [act.startsWith("rule-") ? "rules" as const : "items" as const, act.replace(/^(?:item|rule)-/, "")];
  const keys = keysIn(fields, list);
  if (act === "item-add") return withItem(fields, keys);
  if (act === "rule-add") return withRule(fields, keys);
  const at = keys.indexOf(key);
  if (at === -1) return fields;
  if (change === "remove" && key !== SIDE_DOWN) return { ...fields, [list]: keys.filter((each) => each !== key).join(" ") };
  const to = change === "up" ? at - 1 : change === "down" ? at + 1 : at;
  if (to < 0 || to >= keys.length) return fields;
  const others = keys.filter((each) => each !== key);
  return { ...fields, [list]: [...others.slice(0, to), key, ...others.slice(to)].join(" ") };
}

function withItem(fields: Fields, keys: readonly string[]): Fields {
  const title = (fields["newItem"] ?? "").trim();
  const key = unusedKey(title, keys);
  // What a button took out before leaves nothing behind for a new one of the same name.
  const rest = Object.fromEntries(Object.entries(fields).filter(([name]) => !name.startsWith(`item.${key}.`) && !name.endsWith(`.item.${key}`)));
  return title === "" ? fields : { ...rest, newItem: "", items: [...keys, key].join(" "), [`item.${key}.title`]: title, [`item.${key}.sides`]: "yes" };
}

function withRule(fields: Fields, keys: readonly string[]): Fields {
  const last = Math.max(0, ...keys.map((key) => Number(/^rule-(\d{1,6})$/.exec(key)?.[1] ?? 0)));
  const key = `rule-${last + 1}`;
  const rest = Object.fromEntries(Object.entries(fields).filter(([name]) => !name.startsWith(`rule.${key}.`)));
  return { ...rest, rules: [...keys, key].join(" "), ...newRule(key) };
}

/** A short key from a title, "elbow-high", told apart from those in use by a number. */
export function unusedKey(title: string, used: readonly string[]): string {
  const plain = title.normalize("NFKD").toLowerCase().replaceAll(/\p{M}/gu, "").replaceAll(/[^a-z0-9]+/g, "-").replaceAll(/^-+|-+$/g, "").slice(0, 40).replace(/-+$/, "");
  const base = plain === "" ? "item" : plain;
  for (let n = 1; ; n += 1) {
    const key = n === 1 ? base : `${base}-${n}`;
    if (!used.includes(key)) return key;
  }
}
