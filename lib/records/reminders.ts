import "server-only";
import { and, asc, eq, exists, gt, isNotNull, isNull, lte, sql } from "drizzle-orm";
import { database, type Database } from "@/db/client";
import { prepared } from "@/db/prepared";
import { answers, seenLive } from "@/db/schema/answers";
import { families } from "@/db/schema/care";
import { notices } from "@/db/schema/machinery";
import { photoSets, symptomClearances, symptomReports } from "@/db/schema/photos";
import { backQuestions } from "@/db/schema/questions";
import { ALARM_EVERY_MS, alarmDue, ASK_AGAIN_EVERY_DAYS, heldBack, MOST_ALARMS, MOST_ASKED_AGAIN, MOST_REMINDERS, photoReminderDue, questionReminderDue, REMIND_EVERY_DAYS } from "@/lib/domain/notices/again";
import { overallOf } from "@/lib/domain/setup/today";
import { DAY_MS } from "@/lib/domain/time/local";
import { runEvery } from "@/lib/jobs/run-every";
import { addNotice } from "@/lib/notices/add";
import { isOpenQuestion } from "@/lib/records/back-question-reads";
import { readCarers } from "@/lib/records/carers";
import { readFacts, readPhotoConsent, type ChildRef } from "@/lib/records/child-facts";
import { firstAnswer, inForce } from "@/lib/records/in-force";
import { REMINDERS, remindedToday } from "@/lib/records/reminded-today";
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

/**
 * Reminds carers of each photo that was asked for and has not come. Asked twice, or after a restart, it adds nothing twice.
 * A few at a time, each read when it is their turn; in between, whoever waits for the server gets one.
 */
export async function remindOfPhotos(db: Database, now: number): Promise<void> {
  for (let lot = askedPhotos(db, now, null); lot.length > 0; lot = askedPhotos(db, now, lot.at(-1) ?? null)) {
    remindOf(db, lot, now);
    await new Promise(setImmediate);
  }
}

function remindOf(db: Database, lot: ReturnType<typeof askedPhotos>, now: number): void {
  for (const { answerId, askedAt, isShown, practiceId, exerciseKey, ...ref } of lot) {
    const reminder = photoReminderDue({ askedAt, isShown, photoConsent: "given", goAhead: "go" }, now);
    if (reminder === null) continue;
    // Judging a child costs most: only where somebody would have a mail of it.
    remindCarers(db, practiceId, ref, "photo-reminder", `${answerId}:${reminder}`, now, () => {
      const { facts } = readFacts(practiceId, ref, exerciseKey, now);
      return heldBack({ photoConsent: facts.photoConsent, goAhead: overallOf(facts, now) }) === null;
    });
  }
}

/** Reminds carers of each question to them that is still open. Asked twice, or after a restart, it adds nothing twice. */
export function remindOfQuestions(db: Database, now: number): void {
  const day = ASK_AGAIN_EVERY_DAYS * DAY_MS;
  const open = db.select({ id: backQuestions.id, askedAt: backQuestions.askedAt, childId: backQuestions.childId, familyId: backQuestions.familyId, practiceId: families.practiceId }).from(backQuestions)
    .innerJoin(families, eq(families.id, backQuestions.familyId))
    .innerJoin(photoSets, and(eq(photoSets.id, backQuestions.photoSetId), eq(photoSets.childId, backQuestions.childId)))
    .leftJoin(answers, and(eq(answers.photoSetId, photoSets.id), firstAnswer()))
    .where(and(isOpenQuestion(), isNull(answers.id), isNull(photoSets.voidedAt), lte(backQuestions.askedAt, now - day), gt(backQuestions.askedAt, now - (MOST_ASKED_AGAIN + 1) * day))).all();
  for (const { id, askedAt, practiceId, ...ref } of open) {
    const reminder = questionReminderDue({ askedAt, photoConsent: readPhotoConsent(ref, now) }, now);
    if (reminder !== null) remindCarers(db, practiceId, ref, "question-reminder", `${id}:${reminder}`, now);
  }
}

/** One mail to each carer who has not had this one. Who had another reminder today has it on a later day, as long as it is due. */
function remindCarers(db: Database, practiceId: string, ref: ChildRef, kind: "photo-reminder" | "question-reminder", objectId: string, now: number, isOwed: () => boolean = () => true): void {
  const keyOf = (personId: string): string => `${kind}:${objectId}:${personId}`;
  const missing = readCarers(ref, now).filter(({ personId }) => !wasSent(keyOf(personId)));
  if (missing.length === 0 || !isOwed()) return;
  db.transaction((tx) => {
    const before = remindedToday(practiceId, REMINDERS, now);
    for (const { personId } of missing) if (!before.has(personId)) addNotice(tx, { kind, personId, dedupeKey: keyOf(personId), now });
  }, { behavior: "immediate" });
}

/** Rows of one statement, and what is judged and mailed in one turn. */
const AT_ONCE = 10;

/** Answers in force that asked for a photo and are old enough for a reminder and not too old, the oldest first, those after one. */
function askedPhotos(db: Database, now: number, after: { readonly askedAt: number; readonly answerId: string } | null) {
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
      after ? sql`(${answers.publishedAt}, ${answers.id}) > (${after.askedAt}, ${after.answerId})` : undefined,
    )).orderBy(asc(answers.publishedAt), asc(answers.id)).limit(AT_ONCE).all().map((row) => ({ ...row, isShown: row.isShown === 1 }));
}

const withKey = prepared((db) => db.select({ id: notices.id }).from(notices).where(eq(notices.dedupeKey, sql.placeholder("dedupeKey"))).prepare());
const wasSent = (dedupeKey: string): boolean => withKey().get({ dedupeKey }) !== undefined;

const MINUTE_MS = 60_000;
/** Looks every minute for what hurts, and every quarter of an hour for what is reminded of by days. */
export function startReminding(): void {
  runEvery("alarms-again", MINUTE_MS, (now) => repeatAlarms(database(), now));
  runEvery("reminders", 15 * MINUTE_MS, async (now) => {
    remindOfQuestions(database(), now);
    await remindOfPhotos(database(), now);
  });
}
