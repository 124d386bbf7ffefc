import "server-only";
import { and, asc, eq, gte, isNull } from "drizzle-orm";
import { database } from "@/db/client";
import { closures, practices, workingHours } from "@/db/schema/practice";
import type { PracticeGrant } from "@/lib/access/grant";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { localDate } from "@/lib/domain/time/local";
import type { WorkingWeek } from "@/lib/domain/time/working-week";
import { WorkingWeekSchema } from "@/lib/domain/time/working-week.schema";
import { act } from "@/lib/records/act";
import { readCalendar } from "@/lib/records/calendar";

export type PracticeView = {
  readonly name: string;
  readonly timeZone: string;
  readonly photoWeeks: number;
  readonly version: number;
  readonly hours: { readonly week: WorkingWeek; readonly promiseMinutes: number; readonly effectiveFrom: number } | null;
  readonly closures: readonly { readonly id: string; readonly day: string; readonly label: string }[];
};

export async function practiceOf(grant: PracticeGrant<"practice.read">, now: number): Promise<PracticeView> {
  const practice = database().select().from(practices).where(eq(practices.id, grant.practiceId)).get();
  if (!practice) throw new Error("the practice is missing");
  const hours = database().select().from(workingHours).where(eq(workingHours.practiceId, grant.practiceId))
    .orderBy(asc(workingHours.effectiveFrom)).all().at(-1);
  const closed = database().select({ id: closures.id, day: closures.day, label: closures.label }).from(closures)
    .where(and(eq(closures.practiceId, grant.practiceId), isNull(closures.removedAt), gte(closures.day, localDate(now, practice.timeZone))))
    .orderBy(asc(closures.day)).all();
  return {
    name: practice.name, timeZone: practice.timeZone, photoWeeks: practice.photoWeeks, version: practice.version,
    hours: hours ? { week: WorkingWeekSchema.parse(JSON.parse(hours.week)), promiseMinutes: hours.promiseMinutes, effectiveFrom: hours.effectiveFrom } : null,
    closures: closed,
  };
}

/** New hours from now on; what was due before is still judged by the hours in force then. */
export async function setHours(
  grant: PracticeGrant<"practice.settings">,
  input: { readonly week: WorkingWeek; readonly promiseMinutes: number },
  now: number,
): Promise<Result<null>> {
  const id = crypto.randomUUID();
  return act(grant, "hours.set", now, (tx) => {
    tx.insert(workingHours).values({
      id, practiceId: grant.practiceId, effectiveFrom: now, week: JSON.stringify(input.week), promiseMinutes: input.promiseMinutes,
      recordedBy: grant.actor.personId, recordedAt: now,
    }).run();
    return ok({ objectId: id, value: null });
  });
}

/** Name, zone and photo interval; refused when somebody changed them since `version` was read. */
export async function setPractice(
  grant: PracticeGrant<"practice.settings">,
  input: { readonly name: string; readonly timeZone: string; readonly photoWeeks: number; readonly version: number },
  now: number,
): Promise<Result<null>> {
  return act(grant, "practice.set", now, (tx) => {
    const changed = tx.update(practices)
      .set({ name: input.name, timeZone: input.timeZone, photoWeeks: input.photoWeeks, version: input.version + 1 })
      .where(and(eq(practices.id, grant.practiceId), eq(practices.version, input.version))).run();
    return changed.changes === 1 ? ok({ objectId: grant.practiceId, value: null }) : refuse("stale-version");
  });
}

export async function addClosure(
  grant: PracticeGrant<"practice.settings">,
  input: { readonly day: string; readonly label: string },
  now: number,
): Promise<Result<null>> {
  // A closure in the past would change what was due then.
  if (input.day < today(grant.practiceId, now)) return refuse("dates-disagree", { field: "day" });
  const id = crypto.randomUUID();
  return act(grant, "closure.added", now, (tx) => {
    tx.insert(closures).values({ id, practiceId: grant.practiceId, ...input, recordedBy: grant.actor.personId, recordedAt: now }).run();
    return ok({ objectId: id, value: null });
  });
}

export async function removeClosure(grant: PracticeGrant<"practice.settings">, id: string, now: number): Promise<Result<null>> {
  return act(grant, "closure.removed", now, (tx) => {
    const removed = tx.update(closures).set({ removedAt: now }).where(and(
      eq(closures.practiceId, grant.practiceId), eq(closures.id, id), isNull(closures.removedAt), gte(closures.day, today(grant.practiceId, now)),
    )).run();
    return removed.changes === 1 ? ok({ objectId: id, value: null }) : refuse("stale-version");
  });
}

const today = (practiceId: string, now: number): string => localDate(now, readCalendar(practiceId).zone);
