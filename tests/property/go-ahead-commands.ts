import * as fc from "fast-check";
import { COVERAGES, PHASES, VERDICTS, type Phase, type Verdict } from "@/lib/domain/setup/vocabulary";
import { DAY, HOUR, ITEMS, MONDAY } from "@/tests/domain/go-ahead-scene";
import { Model, type Run } from "@/tests/property/go-ahead-model";

/** What can happen to one child, as plain values; `play` does it to the facts and to the model alike. */
type Evidence = "fresh" | "old" | "unknown" | "ahead" | "same-instant";
export type Act =
  | { do: "wait"; ms: number }
  | { do: "judge"; live: boolean; evidence: Evidence; verdicts: readonly (readonly [number, Verdict])[] }
  | { do: "report"; urgent: boolean }
  | { do: "clear"; which: number }
  | { do: "place"; scope: "this" | "all" | "another" }
  | { do: "lift"; which: number }
  | { do: "new-record"; days: number | null }
  | { do: "drop-record" }
  | { do: "confirm"; sides: "lies-left" | "lies-right"; short: boolean; coverage: (typeof COVERAGES)[number] }
  | { do: "propose" }
  | { do: "withdraw-setup" }
  | { do: "open"; phase: Phase }
  | { do: "consent"; to: "given" | "withdrawn" | "never" }
  | { do: "refuse"; refused: boolean };

const item = fc.nat({ max: ITEMS.length - 1 });
const evidence = fc.oneof(
  { weight: 6, arbitrary: fc.constant<Evidence>("fresh") },
  { weight: 3, arbitrary: fc.constantFrom<Evidence>("old", "unknown", "ahead", "same-instant") },
);
const mostlyGood = fc.oneof(
  { weight: 5, arbitrary: fc.constant<Verdict>("in-place") },
  { weight: 3, arbitrary: fc.constantFrom(...VERDICTS) },
);
const judge = (verdicts: fc.Arbitrary<readonly (readonly [number, Verdict])[]>): fc.Arbitrary<Act> =>
  fc.record({ do: fc.constant("judge" as const), live: fc.boolean(), evidence, verdicts });
const everyItem = (verdict: fc.Arbitrary<Verdict>) =>
  fc.tuple(...ITEMS.map((_each, index) => fc.tuple(fc.constant(index), verdict)));

export const act: fc.Arbitrary<Act> = fc.oneof(
  { weight: 8, arbitrary: fc.record({ do: fc.constant("wait" as const), ms: fc.oneof(fc.constantFrom(0, 1, HOUR), fc.nat({ max: 6 * DAY }), fc.nat({ max: 70 * DAY })) }) },
  { weight: 10, arbitrary: judge(fc.array(fc.tuple(item, mostlyGood), { minLength: 1, maxLength: 4 })) },
  { weight: 5, arbitrary: judge(everyItem(fc.constant("in-place"))) },
  { weight: 3, arbitrary: judge(everyItem(mostlyGood)) },
  { weight: 1, arbitrary: judge(everyItem(fc.constant("not-visible"))) },
  { weight: 1, arbitrary: fc.record({ do: fc.constant("report" as const), urgent: fc.boolean() }) },
  { weight: 3, arbitrary: fc.record({ do: fc.constant("clear" as const), which: fc.nat({ max: 9 }) }) },
  { weight: 1, arbitrary: fc.record({ do: fc.constant("place" as const), scope: fc.constantFrom("this" as const, "all" as const, "another" as const) }) },
  { weight: 3, arbitrary: fc.record({ do: fc.constant("lift" as const), which: fc.nat({ max: 9 }) }) },
  { weight: 1, arbitrary: fc.record({ do: fc.constant("new-record" as const), days: fc.option(fc.integer({ min: 1, max: 300 })) }) },
  { weight: 1, arbitrary: fc.constant<Act>({ do: "drop-record" }) },
  { weight: 5, arbitrary: fc.record({
    do: fc.constant("confirm" as const),
    sides: fc.constantFrom("lies-left" as const, "lies-left" as const, "lies-right" as const),
    short: fc.boolean(),
    coverage: fc.constantFrom("covered" as const, "covered" as const, ...COVERAGES),
  }) },
  { weight: 1, arbitrary: fc.constantFrom<Act>({ do: "propose" }, { do: "withdraw-setup" }) },
  { weight: 4, arbitrary: fc.record({ do: fc.constant("open" as const), phase: fc.constantFrom(...PHASES) }) },
  { weight: 1, arbitrary: fc.record({ do: fc.constant("consent" as const), to: fc.constantFrom("given" as const, "withdrawn" as const, "never" as const) }) },
  { weight: 1, arbitrary: fc.record({ do: fc.constant("refuse" as const), refused: fc.constantFrom(false, false, true) }) },
);

/** A child whose record is in, set-up confirmed and position opened, then whatever happens. */
export const acts: fc.Arbitrary<readonly Act[]> = fc
  .tuple(fc.boolean(), fc.array(act, { maxLength: 40, size: "max" }))
  .map(([ready, then]) => (ready ? [...START, ...then] : then));
const START: readonly Act[] = [
  { do: "new-record", days: 200 },
  { do: "confirm", sides: "lies-left", short: false, coverage: "covered" },
  { do: "open", phase: "position" },
];

export function start(): Run {
  return {
    model: new Model(MONDAY),
    facts: {
      exerciseKey: "side-lying", record: null, setup: null, notCovered: false, phasesOpened: [], verdicts: [],
      symptomStops: [], staffStops: [], photoConsent: "given", photoWeeks: 8,
    },
  };
}

/** Instants never stand still over a confirmation, so that "before" and "after" it are two things. */
export function play(run: Run, step: Act): void {
  const { model, facts } = run;
  switch (step.do) {
    case "wait":
      model.now += step.ms;
      return;
    case "judge":
      for (const [index, verdict] of step.verdicts) judgeOne(run, step, index, verdict);
      return;
    case "report": {
      const id = `${step.urgent ? "urgent" : "today"}-${facts.symptomStops.length}`;
      facts.symptomStops = [...facts.symptomStops, { id, tier: step.urgent ? "urgent" : "today", reportedAt: model.now, clearedAt: null }];
      model.symptoms.add(id);
      return;
    }
    case "clear": {
      const stop = facts.symptomStops[step.which];
      if (stop) model.symptoms.delete(stop.id);
      facts.symptomStops = facts.symptomStops.map((each) => (each === stop ? { ...each, clearedAt: model.now } : each));
      return;
    }
    case "place": {
      const exerciseKey = { this: "side-lying", all: null, another: "standing" }[step.scope];
      const id = `staff-${facts.staffStops.length}`;
      facts.staffStops = [...facts.staffStops, { id, placedAt: model.now, placedBy: "lead", liftedAt: null, exerciseKey }];
      model.staff.set(id, step.scope !== "another");
      return;
    }
    case "lift": {
      const stop = facts.staffStops[step.which];
      if (stop) model.staff.delete(stop.id);
      facts.staffStops = facts.staffStops.map((each) => (each === stop ? { ...each, liftedAt: model.now } : each));
      return;
    }
    case "new-record": {
      const id = `record-${model.now}-${String(step.days)}`;
      const end = step.days === null ? null : model.now + step.days * DAY;
      facts.record = { id, reassessBy: end };
      model.record = { id, end };
      return;
    }
    case "drop-record":
      facts.record = null;
      model.record = null;
      return;
    case "confirm":
      confirm(run, step);
      return;
    case "propose":
      if (facts.setup) facts.setup = { ...facts.setup, confirmedAt: null, confirmedBy: null };
      model.confirmed = false;
      return;
    case "withdraw-setup":
      facts.setup = null;
      model.hasSetup = false;
      return;
    case "open":
      model.now += 1;
      facts.phasesOpened = [...facts.phasesOpened, { phase: step.phase, openedAt: model.now, openedBy: "therapist" }];
      model.opened.set(step.phase, model.now);
      return;
    case "consent":
      facts.photoConsent = step.to;
      return;
    case "refuse":
      facts.notCovered = step.refused;
      model.refused = step.refused;
  }
}

function judgeOne({ model, facts }: Run, step: Extract<Act, { do: "judge" }>, index: number, verdict: Verdict): void {
  const judgedItem = ITEMS[index];
  if (!judgedItem) throw new Error("no such item");
  const evidenceAt = {
    fresh: model.now - HOUR, old: model.now - 12 * DAY, unknown: null, ahead: model.now + HOUR, "same-instant": model.now,
  }[step.evidence];
  facts.verdicts = [...facts.verdicts, {
    itemKey: judgedItem.key, verdict, isStop: judgedItem.isStop, judgedAt: model.now, judgedBy: "therapist",
    source: step.live ? "seen-live" : "answer", evidenceAt, sidesKey: model.sides ?? "none", sequence: facts.verdicts.length,
  }];
  model.judge(judgedItem.key, verdict, judgedItem.isStop, evidenceAt);
}

function confirm({ model, facts }: Run, step: Extract<Act, { do: "confirm" }>): void {
  // A side with no set-up before it is new too: what was judged under none does not count.
  model.now += 1;
  const turned = model.sides !== null && model.sides !== step.sides;
  const since = turned || model.sides === null ? model.now : sidesSince.get(model) ?? model.now;
  sidesSince.set(model, since);
  const items = ITEMS.filter((each) => !step.short || each.phase !== "activation");
  const phases = PHASES.filter((each) => !step.short || each !== "activation");
  const recordId = facts.record?.id ?? "none";
  facts.setup = {
    confirmedAt: model.now, confirmedBy: "therapist", recordId, coverage: step.coverage, items, phases,
    sides: { key: step.sides, since },
  };
  if (model.sides === null) model.sides = "none";
  model.confirm(step.sides, new Map(items.map((each) => [each.key, {
    phase: each.phase, required: each.requiredForGo, stop: each.isStop, sided: each.sideDependent,
  }])));
  model.hasSetup = true;
  model.confirmed = true;
  model.setupRecord = recordId;
  model.coverageRefused = step.coverage === "not-covered";
  model.phases = phases;
}
const sidesSince = new WeakMap<Model, number>();
