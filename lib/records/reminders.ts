import "server-only";
import { and, eq, exists, gt, isNotNull, isNull, like, lte, sql } from "drizzle-orm";
import { database, type Database } from "@/db/client";
import { answers, seenLive } from "@/db/schema/answers";
import { families } from "@/db/schema/care";
import { notices } from "@/db/schema/machinery";
import { photoSets, symptomClearances, symptomReports } from "@/db/schema/photos";
import { ALARM_EVERY_MS, alarmDue, MOST_ALARMS, MOST_REMINDERS, photoReminderDue, REMIND_EVERY_DAYS } from "@/lib/domain/notices/again";
import { DAY_MS } from "@/lib/domain/time/local";
import { runEvery } from "@/lib/jobs/run-every";
import { tellCarers } from "@/lib/records/carers";
import { inForce } from "@/lib/records/in-force";
import { standingFor } from "@/lib/records/standing";
import { tellStaff } from "@/lib/records/tell-staff";

/** Mails staff again about each symptom that nobody has cleared. Asked twice, or after a restart, it adds nothing twice. */
export function repeatAlarms(db: Database, now: number): void {
  const open = db.select({ id: symptomReports.id, tier: symptomReports.tier, reportedAt: symptomReports.reportedAt, practiceId: families.practiceId })
    .from(symptomReports).innerJoin(families, eq(families.id, symptomReports.familyId))
    .leftJoin(symptomClearances, eq(symptomClearances.reportId, symptomReports.id))
    .where(and(isNull(symptomClearances.id), gt(symptomReports.reportedAt, now - MOST_ALARMS * ALARM_EVERY_MS))).all();
  for (const { id, tier, reportedAt, practiceId } of open) {
    const repetition = alarmDue(reportedAt, now);
    if (repetition === null) continue;
    db.transaction((tx) => tellStaff(tx, practiceId, tier === "urgent" ? "symptom-urgent" : "symptom-today", id, now, repetition), { behavior: "immediate" });
  }
}

/** Reminds carers of each photo that was asked for and has not come. Asked twice, or after a restart, it adds nothing twice. */
export function remindOfPhotos(db: Database, now: number): void {
  for (const asked of askedPhotos(db, now)) {
    const { childId, familyId } = asked;
    const ref = { childId, familyId };
    const { photoConsent, overall } = standingFor(asked.practiceId, ref, asked.exerciseKey, now);
    const reminder = photoReminderDue({ askedAt: asked.askedAt, isShown: asked.isShown, photoConsent, goAhead: overall }, now);
    if (reminder === null || wasSent(db, `${asked.answerId}:${reminder}`)) continue;
    db.transaction((tx) => tellCarers(tx, ref, "photo-reminder", `${asked.answerId}:${reminder}`, now), { behavior: "immediate" });
  }
}

/** Answers in force that asked for a photo and are old enough for a reminder and not too old. */
function askedPhotos(db: Database, now: number) {
  const day = REMIND_EVERY_DAYS * DAY_MS;
  const later = db.select({ one: sql`1` }).from(sql`photo_sets later`).where(sql`later.child_id = ${photoSets.childId}
    and later.exercise_key = ${photoSets.exerciseKey} and later.sent_at > ${photoSets.sentAt} and later.voided_at is null`);
  const live = db.select({ one: sql`1` }).from(seenLive).where(and(
    eq(seenLive.childId, photoSets.childId), eq(seenLive.exerciseKey, photoSets.exerciseKey), gt(seenLive.recordedAt, answers.publishedAt),
  ));
  return db.select({
    answerId: answers.id, askedAt: answers.publishedAt, childId: answers.childId, familyId: answers.familyId, exerciseKey: photoSets.exerciseKey,
    practiceId: families.practiceId, isShown: sql<number>`(${exists(later)} or ${exists(live)})`,
  }).from(answers).innerJoin(photoSets, eq(photoSets.id, answers.photoSetId)).innerJoin(families, eq(families.id, answers.familyId))
    .where(and(
      inForce(now), eq(answers.nextStep, "new-photo"), isNull(photoSets.voidedAt), isNotNull(photoSets.sentAt),
      lte(answers.publishedAt, now - day), gt(answers.publishedAt, now - (MOST_REMINDERS + 1) * day),
    )).all().map((row) => ({ ...row, isShown: row.isShown === 1 }));
}

const wasSent = (db: Database, objectId: string): boolean =>
  db.select({ id: notices.id }).from(notices).where(like(notices.dedupeKey, `photo-reminder:${objectId}:%`)).limit(1).get() !== undefined;

const LOOK_MS = 60_000;
/** Looks every minute. */
export const startReminding = () => runEvery("reminders", LOOK_MS, (now) => {
  repeatAlarms(database(), now);
  remindOfPhotos(database(), now);
});
