import "server-only";
import { asc, eq } from "drizzle-orm";
import { database } from "@/db/client";
import { closures, extraOpenings, practices, workingHours } from "@/db/schema/practice";
import type { CalendarHistory } from "@/lib/domain/time/working-week";
import { OpenSpansSchema, WorkingWeekSchema } from "@/lib/domain/time/working-week.schema";

const MINUTE_MS = 60_000;

/**
 * The practice's hours, zone and promises as they changed, its closures and extra openings, those taken out
 * again too: they held until then. For lib/records alone: the caller has the grant.
 */
export function readCalendar(practiceId: string): CalendarHistory {
  const db = database();
  const practice = db.select({ zone: practices.timeZone }).from(practices).where(eq(practices.id, practiceId)).get();
  if (!practice) throw new Error("the practice is missing");
  const closed = db.select({ day: closures.day, from: closures.recordedAt, until: closures.removedAt }).from(closures)
    .where(eq(closures.practiceId, practiceId)).all();
  const opened = db.select({ day: extraOpenings.day, spans: extraOpenings.spans, from: extraOpenings.recordedAt, until: extraOpenings.removedAt })
    .from(extraOpenings).where(eq(extraOpenings.practiceId, practiceId)).all();
  const versions = db.select().from(workingHours).where(eq(workingHours.practiceId, practiceId)).orderBy(asc(workingHours.effectiveFrom)).all();
  return {
    zone: practice.zone,
    closures: closed,
    openings: opened.map(({ spans, ...row }) => ({ ...row, spans: OpenSpansSchema.parse(JSON.parse(spans)) })),
    versions: versions.map((row) => ({
      effectiveFrom: row.effectiveFrom,
      zone: row.timeZone,
      week: WorkingWeekSchema.parse(JSON.parse(row.week)),
      promiseMs: { "photo-set": row.promiseMinutes * MINUTE_MS, question: row.questionMinutes * MINUTE_MS, symptom: row.symptomMinutes * MINUTE_MS },
    })),
  };
}
