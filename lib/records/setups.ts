import "server-only";
import { and, eq, isNull, max } from "drizzle-orm";
import type { Transaction } from "@/db/client";
import { phaseOpenings, setups } from "@/db/schema/care";
import type { ChildGrant } from "@/lib/access/grant";
import { ok, refuse, type Result } from "@/lib/domain/result";
import type { Exercise } from "@/lib/domain/setup/exercise";
import { checkIndividualSetup, type IndividualDraft } from "@/lib/domain/setup/individual";
import { resolve, type CoveredResolution, type Resolution } from "@/lib/domain/setup/resolve";
import { sidesKey } from "@/lib/domain/setup/setup-sides";
import { PHASES, type Phase } from "@/lib/domain/setup/vocabulary";
import type { Side } from "@/lib/domain/sides";
import { typedSides } from "@/lib/domain/words/typed-sides";
import { act } from "@/lib/records/act";
import { own, readRecord, readSetup, type CurrentRecord } from "@/lib/records/child-facts";
import { offeredKeys } from "@/lib/records/child-exercises";
import { exerciseOf } from "@/lib/records/exercises";

/** What the rules propose for the current record; nothing a family sees until it is confirmed. */
export async function proposedSetup(
  grant: ChildGrant<"child.read">,
  exerciseKey: string,
): Promise<{ readonly record: CurrentRecord | null; readonly exercise: Exercise; readonly resolution: Resolution }> {
  const record = readRecord(grant);
  const exercise = exerciseOf(grant.practiceId, exerciseKey);
  return { record, exercise, resolution: resolve(exercise, record?.record ?? null) };
}

type Confirmed = {
  readonly exerciseKey: string;
  /** The version that was on the screen. */
  readonly exerciseVersion: number;
  /** The record that was on the screen. */
  readonly recordId: string;
  readonly apexSpot: string;
  /** The side down, chosen by the therapist once more. */
  readonly lieOn: Side;
};

/** Confirms the rules' set-up for this child. Refused when the record or the exercise changed or the side read back differs. */
export async function confirmSetup(grant: ChildGrant<"setup.confirm">, input: Confirmed, now: number): Promise<Result<{ readonly id: string }>> {
  return act(grant, "setup.confirmed", now, (tx) => {
    const record = readRecord(grant);
    if (record?.id !== input.recordId) return refuse("record-changed");
    const exercise = readOffered(grant, input);
    if (!exercise.ok) return exercise;
    const resolution = resolve(exercise.value, record.record);
    if (resolution.coverage === "not-covered") return refuse("setup-not-covered");
    if (resolution.setup.lieOn !== input.lieOn) return refuse("side-not-read-back", { field: "lieOn" });
    if (namesOtherSide(input.apexSpot, resolution)) return refuse("words-side-disagree", { field: "apexSpot" });
    return ok(insertSetup(tx, grant, { ...input, kind: "rule", reason: "", resolution }, now));
  });
}

/** A therapist's own set-up for a child whom the rules do not cover: picked, confirmed twice, with a reason. */
export async function confirmIndividualSetup(
  grant: ChildGrant<"setup.confirm">,
  input: Omit<Confirmed, "lieOn"> & { readonly draft: IndividualDraft },
  now: number,
): Promise<Result<{ readonly id: string }>> {
  return act(grant, "setup.individual-confirmed", now, (tx) => {
    const record = readRecord(grant);
    if (record?.id !== input.recordId) return refuse("record-changed");
    const exercise = readOffered(grant, input);
    if (!exercise.ok) return exercise;
    const checked = checkIndividualSetup(input.draft, exercise.value);
    if (!checked.ok) return checked;
    // Where the rules have an answer, theirs is used: an individual set-up could contradict it.
    if (resolve(exercise.value, record.record).coverage !== "not-covered") return refuse("setup-covered");
    if (namesOtherSide(input.apexSpot, checked.value)) return refuse("words-side-disagree", { field: "apexSpot" });
    return ok(insertSetup(tx, grant, { ...input, kind: "individual", reason: input.draft.reason, resolution: checked.value }, now));
  });
}

/** The newest version, if it is the one that was on the screen and may be given to this child. */
function readOffered(grant: ChildGrant<"setup.confirm">, { exerciseKey, exerciseVersion }: Omit<Confirmed, "lieOn">): Result<Exercise> {
  if (!offeredKeys(grant.practiceId, grant).includes(exerciseKey)) return refuse("form-invalid", { field: "exerciseKey" });
  const exercise = exerciseOf(grant.practiceId, exerciseKey);
  return exercise.version === exerciseVersion ? ok(exercise) : refuse("stale-version");
}

/** The prop lies under the side down, so words for its spot that name the other side are a slip. */
const namesOtherSide = (apexSpot: string, { setup }: CoveredResolution): boolean =>
  typedSides(apexSpot, setup).some(({ side }) => side !== setup.lieOn);

type NewSetup = {
  readonly exerciseKey: string;
  readonly exerciseVersion: number;
  readonly recordId: string;
  readonly apexSpot: string;
  readonly kind: "rule" | "individual";
  readonly reason: string;
  readonly resolution: CoveredResolution;
};

function insertSetup(tx: Transaction, grant: ChildGrant<"setup.confirm">, setup: NewSetup, now: number) {
  const id = crypto.randomUUID();
  const { exerciseKey } = setup;
  const last = tx.select({ sequence: max(setups.sequence) }).from(setups)
    .where(and(own(setups, grant), eq(setups.exerciseKey, exerciseKey))).get();
  tx.insert(setups).values({
    id, childId: grant.childId, familyId: grant.familyId, exerciseKey, exerciseVersion: setup.exerciseVersion,
    curveRecordId: setup.recordId, kind: setup.kind, resolution: JSON.stringify(setup.resolution),
    sidesKey: sidesKey(setup.resolution.setup), apexSpot: setup.apexSpot, reason: setup.reason,
    confirmedBy: grant.actor.personId, confirmedAt: now, sequence: (last?.sequence ?? 0) + 1,
  }).run();
  return { objectId: id, value: { id } };
}

/** Opens a phase of the confirmed set-up; earlier phases must be open already. */
export async function openPhase(grant: ChildGrant<"phase.open">, exerciseKey: string, phase: Phase, now: number): Promise<Result<null>> {
  return act(grant, "phase.opened", now, (tx) => {
    const setup = readSetup(grant, exerciseKey);
    if (!setup || setup.curveRecordId !== readRecord(grant)?.id) return refuse("setup-not-confirmed");
    if (!setup.resolution.phases.includes(phase)) return refuse("phase-not-open");
    const opened = openedPhases(tx, grant, exerciseKey);
    const earlier = setup.resolution.phases.filter((each) => PHASES.indexOf(each) < PHASES.indexOf(phase));
    if (!earlier.every((each) => opened.includes(each))) return refuse("phase-not-open");
    if (!opened.includes(phase)) {
      tx.insert(phaseOpenings).values({
        id: crypto.randomUUID(), childId: grant.childId, familyId: grant.familyId, exerciseKey, phase,
        openedBy: grant.actor.personId, openedAt: now,
      }).run();
    }
    return ok({ objectId: grant.childId, value: null });
  });
}

/** Closes a phase and every later one. */
export async function closePhase(grant: ChildGrant<"phase.open">, exerciseKey: string, phase: Phase, now: number): Promise<Result<null>> {
  return act(grant, "phase.closed", now, (tx) => {
    for (const later of PHASES.slice(PHASES.indexOf(phase))) {
      tx.update(phaseOpenings).set({ closedAt: now }).where(and(
        own(phaseOpenings, grant), eq(phaseOpenings.exerciseKey, exerciseKey), eq(phaseOpenings.phase, later), isNull(phaseOpenings.closedAt),
      )).run();
    }
    return ok({ objectId: grant.childId, value: null });
  });
}

function openedPhases(tx: Transaction, grant: ChildGrant<"phase.open">, exerciseKey: string): readonly Phase[] {
  return tx.select({ phase: phaseOpenings.phase }).from(phaseOpenings)
    .where(and(own(phaseOpenings, grant), eq(phaseOpenings.exerciseKey, exerciseKey), isNull(phaseOpenings.closedAt)))
    .all().map((row) => row.phase);
}
