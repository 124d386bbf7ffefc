import "server-only";
import { and, asc, eq, sql } from "drizzle-orm";
import { OF_CHILD, prepared } from "@/db/prepared";
import { practiceDays } from "@/db/schema/care";
import type { ChildGrant } from "@/lib/access/grant";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { localDate } from "@/lib/domain/time/local";
import { act } from "@/lib/records/act";
import { own } from "@/lib/records/child-facts";
import { isExerciseKey } from "@/lib/records/exercises";
import { standingFor } from "@/lib/records/standing";

/** "Done today", on the family's own day. Only what may be done can have been done; said twice, it counts once. */
export async function markDone(grant: ChildGrant<"practice-day.mark">, exerciseKey: string, now: number): Promise<Result<null>> {
  if (!isExerciseKey(grant.practiceId, exerciseKey)) return refuse("form-invalid", { field: "exerciseKey" });
  return act(grant, "practice-day.marked", now, (tx) => {
    const { overall } = standingFor(grant.practiceId, grant, exerciseKey, now);
    if (overall !== "go" && overall !== "go-and-fix") return refuse("phase-not-open");
    const id = crypto.randomUUID();
    tx.insert(practiceDays).values({
      id, childId: grant.childId, familyId: grant.familyId, exerciseKey, day: localDate(now, grant.actor.timeZone),
      personId: grant.actor.personId, markedAt: now,
    }).onConflictDoNothing().run();
    return ok({ objectId: id, value: null });
  });
}

const EXERCISE = sql.placeholder("exerciseKey");
const dayOf = prepared((db) => db.select({ id: practiceDays.id }).from(practiceDays)
  .where(and(own(practiceDays, OF_CHILD), eq(practiceDays.exerciseKey, EXERCISE), eq(practiceDays.day, sql.placeholder("day")))).prepare());

export const isDoneToday = async ({ childId, familyId, actor }: ChildGrant<"child.read">, exerciseKey: string, now: number): Promise<boolean> =>
  dayOf().get({ childId, familyId, exerciseKey, day: localDate(now, actor.timeZone) }) !== undefined;

/** "Not done after all": takes back today's tap, whoever of the carers made it; an earlier day stays as it is. */
export async function unmarkDone(grant: ChildGrant<"practice-day.mark">, exerciseKey: string, now: number): Promise<Result<null>> {
  return act(grant, "practice-day.unmarked", now, (tx) => {
    const today = and(own(practiceDays, grant), eq(practiceDays.exerciseKey, exerciseKey), eq(practiceDays.day, localDate(now, grant.actor.timeZone)));
    const row = tx.select({ id: practiceDays.id }).from(practiceDays).where(today).get();
    if (!row) return refuse("stale-version");
    tx.delete(practiceDays).where(today).run();
    return ok({ objectId: row.id, value: null });
  });
}

const daysOf = prepared((db) => db.select({ day: practiceDays.day }).from(practiceDays)
  .where(and(own(practiceDays, OF_CHILD), eq(practiceDays.exerciseKey, EXERCISE))).orderBy(asc(practiceDays.day)).prepare());

/** The days this exercise was done, oldest first, as the family's own dates `YYYY-MM-DD`. */
export const practiceDaysOf = async ({ childId, familyId }: ChildGrant<"child.read">, exerciseKey: string): Promise<readonly string[]> =>
  daysOf().all({ childId, familyId, exerciseKey }).map(({ day }) => day);
