import "server-only";
import { and, asc, eq, isNull } from "drizzle-orm";
import { database } from "@/db/client";
import { closures, practices, workingHours } from "@/db/schema/practice";
import type { CalendarHistory } from "@/lib/domain/time/working-week";
import { WorkingWeekSchema } from "@/lib/domain/time/working-week.schema";

const MINUTE_MS = 60_000;

/** The practice's hours as they changed, its closures and its zone. For lib/records alone: the caller has the grant. */
export function readCalendar(practiceId: string): CalendarHistory {
  const practice = database().select({ zone: practices.timeZone }).from(practices).where(eq(practices.id, practiceId)).get();
  if (!practice) throw new Error("the practice is missing");
  const closed = database().select({ day: closures.day }).from(closures)
    .where(and(eq(closures.practiceId, practiceId), isNull(closures.removedAt))).all();
  const versions = database().select().from(workingHours).where(eq(workingHours.practiceId, practiceId))
    .orderBy(asc(workingHours.effectiveFrom)).all();
  return {
    zone: practice.zone,
    closures: closed.map((row) => row.day),
    versions: versions.map((row) => ({
      effectiveFrom: row.effectiveFrom,
      week: WorkingWeekSchema.parse(JSON.parse(row.week)),
      promiseMs: row.promiseMinutes * MINUTE_MS,
    })),
  };
}
