import "server-only";
import { and, asc, eq, isNotNull, isNull } from "drizzle-orm";
import { database } from "@/db/client";
import { answers } from "@/db/schema/answers";
import { families } from "@/db/schema/care";
import { photoSets } from "@/db/schema/photos";
import type { PracticeGrant } from "@/lib/access/grant";
import { kaplanMeier, survivalQuantile } from "@/lib/domain/stats/kaplan-meier";
import { wilson } from "@/lib/domain/stats/wilson";
import { localDate } from "@/lib/domain/time/local";
import { answerTimeMs, dueAt } from "@/lib/domain/time/working-time";
import { readCalendar } from "@/lib/records/calendar";

export type TimedSet = {
  readonly photoSetId: string;
  readonly sentAt: number;
  readonly answeredAt: number | null;
  readonly dueAt: number | null;
  /** Working time from arrival to the answer, or to now while it waits, ms. */
  readonly workingMs: number;
};

/** Every sent photo set that still counts, oldest first, on the practice's clock. */
export async function timedSets(grant: PracticeGrant<"times.read">, now: number): Promise<readonly TimedSet[]> {
  const calendar = readCalendar(grant.practiceId);
  const rows = database().select({ photoSetId: photoSets.id, sentAt: photoSets.sentAt, answeredAt: answers.answeredAt }).from(photoSets)
    .innerJoin(families, eq(families.id, photoSets.familyId))
    .leftJoin(answers, eq(answers.photoSetId, photoSets.id))
    .where(and(eq(families.practiceId, grant.practiceId), isNotNull(photoSets.sentAt), isNull(photoSets.voidedAt)))
    .orderBy(asc(photoSets.sentAt)).all();
  return rows.flatMap(({ photoSetId, sentAt, answeredAt }) => (sentAt === null ? [] : [{
    photoSetId, sentAt, answeredAt, dueAt: dueAt(calendar, sentAt), workingMs: answerTimeMs(calendar, sentAt, answeredAt ?? now),
  }]));
}

/** What the answer times page says; every figure with its n, open ones counted as open. */
export async function answerTimes(grant: PracticeGrant<"times.read">, now: number) {
  const sets = await timedSets(grant, now);
  const { zone } = readCalendar(grant.practiceId);
  const curve = kaplanMeier(sets.map((set) => ({ time: set.workingMs, observed: set.answeredAt !== null })));
  const waiting = sets.filter((set) => set.answeredAt === null);
  // Judged are those answered, and those whose due time has passed unanswered: they can only be late.
  const judged = sets.filter((set) => set.dueAt !== null && (set.answeredAt !== null || set.dueAt < now));
  const within = judged.filter((set) => set.answeredAt !== null && set.dueAt !== null && set.answeredAt <= set.dueAt);
  const today = localDate(now, zone);
  return {
    curve,
    median: survivalQuantile(curve, 0.5),
    ninetieth: survivalQuantile(curve, 0.9),
    waiting: waiting.length,
    oldest: waiting.at(0) ?? null,
    overdue: waiting.filter((set) => set.dueAt !== null && set.dueAt < now).length,
    dueToday: waiting.filter((set) => set.dueAt !== null && set.dueAt >= now && localDate(set.dueAt, zone) === today).length,
    within: { count: within.length, of: judged.length, interval: wilson(within.length, judged.length) },
  };
}
