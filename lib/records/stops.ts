import "server-only";
import { and, eq, isNull } from "drizzle-orm";
import { database } from "@/db/client";
import { staffStops } from "@/db/schema/answers";
import type { ChildGrant } from "@/lib/access/grant";
import { checkTypedSides, type Confirmation } from "@/lib/domain/answering/check-answer";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { act } from "@/lib/records/act";
import { readCarers, tellCarers } from "@/lib/records/carers";
import { own, readSetup, type ChildRef } from "@/lib/records/child-facts";
import { childExercises } from "@/lib/records/child-exercises";
import { isExerciseKey } from "@/lib/records/exercises";
import { isUnreadByAny } from "@/lib/records/read-backs";

export type StaffStop = {
  readonly id: string;
  readonly exerciseKey: string | null;
  readonly reason: string;
  readonly placedAt: number;
  readonly placedBy: string;
};

/** A stop that needs no photo; null stops every exercise. It holds from this moment on. */
export async function placeStop(
  grant: ChildGrant<"stop.place">,
  input: { readonly exerciseKey: string | null; readonly reason: string } & Confirmation,
  now: number,
): Promise<Result<{ readonly id: string }>> {
  if (input.exerciseKey !== null && !isExerciseKey(grant.practiceId, input.exerciseKey)) return refuse("form-invalid", { field: "exerciseKey" });
  if (input.reason.trim().length < 3) return refuse("reason-missing", { field: "reason" });
  const id = crypto.randomUUID();
  return act(grant, "stop.placed", now, (tx) => {
    for (const key of input.exerciseKey === null ? childExercises(grant.practiceId, grant) : [input.exerciseKey]) {
      const setup = readSetup(grant, key);
      const checked = setup && checkTypedSides([{ field: "reason", text: input.reason }], setup.resolution.setup, input);
      if (checked && !checked.ok) return checked;
    }
    tx.insert(staffStops).values({
      id, childId: grant.childId, familyId: grant.familyId, exerciseKey: input.exerciseKey, reason: input.reason.trim(),
      placedBy: grant.actor.personId, placedAt: now,
    }).run();
    tellCarers(tx, grant, "stop-placed", id, now);
    return ok({ objectId: id, value: { id } });
  });
}

/** Lifts one stop that a therapist placed, with the reason. What else stops the child stays. */
export async function liftStop(grant: ChildGrant<"stop.place">, input: { readonly stopId: string; readonly reason: string }, now: number): Promise<Result<null>> {
  if (input.reason.trim().length < 3) return refuse("reason-missing", { field: "reason" });
  return act(grant, "stop.lifted", now, (tx) => {
    const lifted = tx.update(staffStops).set({ liftedBy: grant.actor.personId, liftedAt: now, liftReason: input.reason.trim() })
      .where(and(own(staffStops, grant), eq(staffStops.id, input.stopId), isNull(staffStops.liftedAt))).run();
    if (lifted.changes === 0) return refuse("stale-version");
    tellCarers(tx, grant, "stop-lifted", input.stopId, now);
    return ok({ objectId: input.stopId, value: null });
  });
}

export async function openStaffStops(grant: ChildGrant<"stop.place">): Promise<readonly StaffStop[]> {
  return database().select({
    id: staffStops.id, exerciseKey: staffStops.exerciseKey, reason: staffStops.reason, placedAt: staffStops.placedAt, placedBy: staffStops.placedBy,
  }).from(staffStops).where(and(own(staffStops, grant), isNull(staffStops.liftedAt))).all();
}

/** True while anyone who cares for the child has a question about an open stop to answer rightly. For lib/records alone. */
export const hasUnreadStop = (practiceId: string, ref: ChildRef, now: number): boolean =>
  isUnreadByAny(practiceId, ref, readCarers(ref, now).map(({ personId }) => personId), now);
