import "server-only";
import { and, asc, desc, eq, gte, isNull, sql } from "drizzle-orm";
import type { Transaction } from "@/db/client";
import { prepared } from "@/db/prepared";
import { closures, practices, workingHours } from "@/db/schema/practice";
import type { PracticeGrant } from "@/lib/access/grant";
import type { AgeLines } from "@/lib/domain/policy/care";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { localDate } from "@/lib/domain/time/local";
import type { Promised, WorkingWeek } from "@/lib/domain/time/working-week";
import { WorkingWeekSchema } from "@/lib/domain/time/working-week.schema";
import { act } from "@/lib/records/act";
import { readCalendar } from "@/lib/records/calendar";

/** Working minutes promised for each kind. */
export type PromiseMinutes = Readonly<Record<Promised, number>>;

export type PracticeView = {
  readonly name: string;
  readonly timeZone: string;
  /** Empty where nobody answers a phone. */
  readonly phone: string;
  readonly photoWeeks: number;
  /** Hours after which a stop that nobody read back joins the queue. */
  readonly readBackHours: number;
  /** Months after the last answer when the photos of a set are erased. */
  readonly retentionMonths: number;
  /** Megabytes of photos and spoken notes that one family may have here. */
  readonly familyMegabytes: number;
  readonly version: number;
  /** Years from which a young person may sign in, and from which they decide alone. */
  readonly ages: AgeLines;
  readonly hours: { readonly week: WorkingWeek; readonly promiseMinutes: PromiseMinutes; readonly effectiveFrom: number } | null;
  readonly closures: readonly { readonly id: string; readonly day: string; readonly label: string }[];
};

const PRACTICE = sql.placeholder("practiceId");
const thePractice = prepared((db) => db.select().from(practices).where(eq(practices.id, PRACTICE)).prepare());
const hoursNewestFirst = prepared((db) => db.select().from(workingHours).where(eq(workingHours.practiceId, PRACTICE)).orderBy(desc(workingHours.effectiveFrom)).limit(1).prepare());
const closedFrom = prepared((db) => db.select({ id: closures.id, day: closures.day, label: closures.label }).from(closures)
  .where(and(eq(closures.practiceId, PRACTICE), isNull(closures.removedAt), gte(closures.day, sql.placeholder("today")))).orderBy(asc(closures.day)).prepare());

export async function practiceOf({ practiceId }: PracticeGrant<"practice.read">, now: number): Promise<PracticeView> {
  const practice = thePractice().get({ practiceId });
  if (!practice) throw new Error("the practice is missing");
  const hours = newestHours(practiceId);
  const closed = closedFrom().all({ practiceId, today: localDate(now, practice.timeZone) });
  return {
    name: practice.name, timeZone: practice.timeZone, phone: practice.phone, photoWeeks: practice.photoWeeks, readBackHours: practice.readBackHours, retentionMonths: practice.retentionMonths, familyMegabytes: practice.familyMegabytes, version: practice.version,
    ages: { ownSignInAge: practice.ownSignInAge, adultAge: practice.adultAge },
    hours: hours ? { week: WorkingWeekSchema.parse(JSON.parse(hours.week)), promiseMinutes: promisesOf(hours), effectiveFrom: hours.effectiveFrom } : null,
    closures: closed,
  };
}

/**
 * New hours and promises from now on; what was due before is still judged by those in force then. Refused with
 * `promise-symptom-longest` where a symptom flag might wait longer than a photo set.
 */
export async function setHours(
  grant: PracticeGrant<"practice.settings">,
  input: { readonly week: WorkingWeek; readonly promiseMinutes: PromiseMinutes },
  now: number,
): Promise<Result<null>> {
  const { week, promiseMinutes } = input;
  if (promiseMinutes.symptom > promiseMinutes["photo-set"]) return refuse("promise-symptom-longest", { field: "symptomHours" });
  return act(grant, "hours.set", now, (tx) => {
    const id = insertHours(tx, grant, {
      timeZone: readCalendar(grant.practiceId).zone, week: JSON.stringify(week),
      promiseMinutes: promiseMinutes["photo-set"], questionMinutes: promiseMinutes.question, symptomMinutes: promiseMinutes.symptom,
    }, now);
    return ok({ objectId: id, value: null });
  });
}

/**
 * Name, zone, phone number, photo interval, how long a stop may stay unread and photos are kept, how much a family may have here, and the age lines; refused when somebody changed
 * them since `version` was read. Another zone holds from now on: what was due keeps the zone in force then.
 */
export async function setPractice(
  grant: PracticeGrant<"practice.settings">,
  input: { readonly name: string; readonly timeZone: string; readonly phone: string; readonly photoWeeks: number; readonly readBackHours: number; readonly retentionMonths: number; readonly familyMegabytes: number; readonly version: number } & AgeLines,
  now: number,
): Promise<Result<null>> {
  if (input.adultAge < input.ownSignInAge) return refuse("ages-disagree", { field: "adultAge" });
  return act(grant, "practice.set", now, (tx) => {
    const changed = tx.update(practices)
      .set({ name: input.name, timeZone: input.timeZone, phone: input.phone, photoWeeks: input.photoWeeks, readBackHours: input.readBackHours, retentionMonths: input.retentionMonths, familyMegabytes: input.familyMegabytes, ownSignInAge: input.ownSignInAge, adultAge: input.adultAge, version: input.version + 1 })
      .where(and(eq(practices.id, grant.practiceId), eq(practices.version, input.version))).run();
    if (changed.changes !== 1) return refuse("stale-version");
    const hours = newestHours(grant.practiceId);
    if (hours && hours.timeZone !== input.timeZone) insertHours(tx, grant, { ...hours, timeZone: input.timeZone }, now);
    return ok({ objectId: grant.practiceId, value: null });
  });
}

type HoursRow = typeof workingHours.$inferSelect;
const promisesOf = (row: HoursRow): PromiseMinutes => ({ "photo-set": row.promiseMinutes, question: row.questionMinutes, symptom: row.symptomMinutes });

const newestHours = (practiceId: string): HoursRow | undefined => hoursNewestFirst().get({ practiceId });

function insertHours(
  tx: Transaction, { practiceId, actor }: PracticeGrant<"practice.settings">,
  { week, timeZone, promiseMinutes, questionMinutes, symptomMinutes }: Pick<HoursRow, "week" | "timeZone" | "promiseMinutes" | "questionMinutes" | "symptomMinutes">, now: number,
): string {
  const id = crypto.randomUUID();
  // Two changes within one millisecond stay in their order.
  const effectiveFrom = Math.max(now, (newestHours(practiceId)?.effectiveFrom ?? 0) + 1);
  tx.insert(workingHours).values({ id, practiceId, effectiveFrom, week, timeZone, promiseMinutes, questionMinutes, symptomMinutes, recordedBy: actor.personId, recordedAt: now }).run();
  return id;
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
