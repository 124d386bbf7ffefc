import "server-only";
import { eq } from "drizzle-orm";
import { database } from "@/db/client";
import { seenLive } from "@/db/schema/answers";
import { practices } from "@/db/schema/practice";
import type { ChildGrant } from "@/lib/access/grant";
import { checkTypedSides, checkVerdicts, type Confirmation, type GivenVerdict } from "@/lib/domain/answering/check-answer";
import { holdsStop } from "@/lib/domain/answering/publication";
import { checklist, type ChecklistRow } from "@/lib/domain/answering/checklist";
import { ok, refuse, type Result } from "@/lib/domain/result";
import type { Phase } from "@/lib/domain/setup/vocabulary";
import { minutesOf } from "@/lib/domain/time/spans";
import { endOfLocalDay, instantOf, isLocalDate } from "@/lib/domain/time/local";
import { act } from "@/lib/records/act";
import { tellCarers } from "@/lib/records/carers";
import { readRecord, readSetup, type CurrentSetup } from "@/lib/records/child-facts";
import { insertVerdicts } from "@/lib/records/judgements";
import { isExerciseKey } from "@/lib/records/exercises";

export type SeenLiveInput = Confirmation & {
  readonly exerciseKey: string;
  /** The furthest phase that was seen. */
  readonly phase: Phase;
  readonly how: "visit" | "call";
  /** Local date in the practice's zone, `YYYY-MM-DD`. */
  readonly day: string;
  /** "HH:MM"; without it only the day is known, and a stop of that day is not lifted. */
  readonly time: string | null;
  readonly note: string;
  readonly verdicts: readonly GivenVerdict[];
};

/**
 * Verdicts from a visit or a call, with the same effect as an answer. Refused: `setup-not-confirmed`,
 * `record-changed`, `dates-disagree` (not yet, or before the present sides were confirmed), and what
 * the checks of an answer refuse.
 */
export async function recordSeenLive(grant: ChildGrant<"seen-live.record">, input: SeenLiveInput, now: number): Promise<Result<{ readonly seenLiveId: string }>> {
  const seenAt = whenSeen(grant.practiceId, input, now);
  if (!seenAt.ok) return seenAt;
  const seenLiveId = crypto.randomUUID();
  return act(grant, "seen-live.recorded", now, (tx) => {
    const current = liveChecklist(grant, input.exerciseKey, input.phase);
    if (!current.ok) return current;
    const { setup, rows } = current.value;
    // Seen before these sides were asked for: lying on the other side may have been right that day.
    if (seenAt.value.latest <= setup.sides.since) return refuse("dates-disagree", { field: "day" });
    const typed = [{ field: "note", text: input.note }, ...input.verdicts.map((each) => ({ field: `words.${each.itemKey}`, text: each.cue ?? "" }))];
    for (const each of [checkVerdicts(rows, input.verdicts), checkTypedSides(typed, setup.resolution.setup, input)]) if (!each.ok) return each;
    tx.insert(seenLive).values({
      id: seenLiveId, childId: grant.childId, familyId: grant.familyId, exerciseKey: input.exerciseKey, setupId: setup.id, how: input.how,
      seenAt: seenAt.value.earliest, note: input.note.trim(), recordedBy: grant.actor.personId, recordedAt: now,
    }).run();
    insertVerdicts(tx, grant, input.verdicts, {
      source: { seenLiveId }, exerciseKey: input.exerciseKey, items: rows.map((row) => row.item), sidesKey: setup.sides.key,
      evidenceAt: seenAt.value.earliest, by: grant.actor.personId,
    }, now);
    tellCarers(tx, grant, holdsStop(rows.map((row) => row.item), input.verdicts) ? "seen-live-stop" : "seen-live", seenLiveId, now);
    return ok({ objectId: seenLiveId, value: { seenLiveId } });
  });
}

/** The set-up in force and what a visit can judge of it up to a phase. */
export function liveChecklist(
  grant: ChildGrant<"seen-live.record">,
  exerciseKey: string,
  phase: Phase,
): Result<{ readonly setup: CurrentSetup; readonly rows: readonly ChecklistRow[] }> {
  if (!isExerciseKey(grant.practiceId, exerciseKey)) return refuse("form-invalid", { field: "exerciseKey" });
  const setup = readSetup(grant, exerciseKey);
  if (!setup) return refuse("setup-not-confirmed");
  if (setup.curveRecordId !== readRecord(grant)?.id) return refuse("record-changed");
  if (!setup.resolution.phases.includes(phase)) return refuse("form-invalid", { field: "phase" });
  return ok({ setup, rows: checklist(setup.resolution.items, phase, { kind: "live" }) });
}

/** The earliest and the latest it can have been; equal where the time is known. */
function whenSeen(practiceId: string, input: SeenLiveInput, now: number): Result<{ readonly earliest: number; readonly latest: number }> {
  const zone = database().select({ zone: practices.timeZone }).from(practices).where(eq(practices.id, practiceId)).get()?.zone;
  if (!zone) throw new Error("the practice is missing");
  if (!isLocalDate(input.day)) return refuse("form-invalid", { field: "day" });
  if (input.time !== null && !/^([01]\d|2[0-3]):[0-5]\d$/.test(input.time)) return refuse("form-invalid", { field: "time" });
  const earliest = instantOf(input.day, input.time === null ? 0 : minutesOf(input.time), zone);
  if (earliest > now) return refuse("dates-disagree", { field: "day" });
  return ok({ earliest, latest: input.time === null ? endOfLocalDay(input.day, zone) : earliest });
}
