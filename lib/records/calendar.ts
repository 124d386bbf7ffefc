import "server-only";
import { asc, eq, sql } from "drizzle-orm";
import { prepared } from "@/db/prepared";
import { closures, extraOpenings, practices, workingHours } from "@/db/schema/practice";
import type { CalendarHistory } from "@/lib/domain/time/working-week";
import { OpenSpansSchema, WorkingWeekSchema } from "@/lib/domain/time/working-week.schema";
import { readOnce } from "@/lib/records/read-once";

const MINUTE_MS = 60_000;

const OF_PRACTICE = sql.placeholder("practiceId");
const zoneOf = prepared((db) => db.select({ zone: practices.timeZone }).from(practices).where(eq(practices.id, OF_PRACTICE)).prepare());
const closed = prepared((db) => db.select({ day: closures.day, from: closures.recordedAt, until: closures.removedAt }).from(closures).where(eq(closures.practiceId, OF_PRACTICE)).prepare());
const opened = prepared((db) => db.select({ day: extraOpenings.day, spans: extraOpenings.spans, from: extraOpenings.recordedAt, until: extraOpenings.removedAt })
  .from(extraOpenings).where(eq(extraOpenings.practiceId, OF_PRACTICE)).prepare());
const versions = prepared((db) => db.select().from(workingHours).where(eq(workingHours.practiceId, OF_PRACTICE)).orderBy(asc(workingHours.effectiveFrom)).prepare());

const weekIn = readOnce((text) => WorkingWeekSchema.parse(JSON.parse(text)));
const spansIn = readOnce((text) => OpenSpansSchema.parse(JSON.parse(text)));

/**
 * The practice's hours, zone and promises as they changed, its closures and extra openings, those taken out
 * again too: they held until then. For lib/records alone: the caller has the grant.
 */
export function readCalendar(practiceId: string): CalendarHistory {
  const practice = zoneOf().get({ practiceId });
  if (!practice) throw new Error("the practice is missing");
  return {
    zone: practice.zone,
    closures: closed().all({ practiceId }),
    openings: opened().all({ practiceId }).map(({ spans, ...row }) => ({ ...row, spans: spansIn(spans) })),
    versions: versions().all({ practiceId }).map((row) => ({
      effectiveFrom: row.effectiveFrom,
      zone: row.timeZone,
      week: weekIn(row.week),
      promiseMs: { "photo-set": row.promiseMinutes * MINUTE_MS, question: row.questionMinutes * MINUTE_MS, symptom: row.symptomMinutes * MINUTE_MS },
    })),
  };
}
