import "server-only";
import { and, asc, desc, eq, inArray, type SQL } from "drizzle-orm";
import { database } from "@/db/client";
import { readBacks, seenLive, staffStops, verdicts } from "@/db/schema/answers";
import { symptomClearances, symptomReports } from "@/db/schema/photos";
import { backQuestions, questions, replies } from "@/db/schema/questions";
import { groupSessions, photoAsks, sessionPlaces } from "@/db/schema/sessions";
import type { ChildGrant } from "@/lib/access/grant";
import type { ArchivedAnswer, ArchivedSet, ChildRecord } from "@/lib/domain/archive/child-record.schema";
import { iso, isoOrNull } from "@/lib/domain/archive/instant";
import { own } from "@/lib/records/child-facts";
import { exerciseWords, type ExerciseNames } from "@/lib/records/exercise-names";

/** Verdicts in the order in which they were given, by the names of their version. */
export function archivedVerdicts(grant: ChildGrant<"export.ask">, which: SQL, names: ExerciseNames): ArchivedAnswer["verdicts"] {
  return database().select().from(verdicts).where(and(own(verdicts, grant), which)).orderBy(asc(verdicts.sequence)).all().map((each) => ({
    item: each.itemKey, title: names.itemTitle(each.itemKey), verdict: each.verdict, isStop: each.isStop, cue: names.cue(each), by: each.judgedBy, at: iso(each.judgedAt), evidenceAt: isoOrNull(each.evidenceAt),
  }));
}

/** What was asked about one version of an answer, with the replies, oldest first. */
export function archivedQuestions(grant: ChildGrant<"export.ask">, answerId: string): ArchivedAnswer["questions"] {
  return database().select({ question: questions, reply: replies }).from(questions)
    .leftJoin(replies, and(eq(replies.questionId, questions.id), eq(replies.childId, questions.childId)))
    .where(and(own(questions, grant), eq(questions.answerId, answerId))).orderBy(asc(questions.askedAt), asc(questions.id)).all()
    .map(({ question, reply }) => ({
      id: question.id, words: question.words, by: question.askedBy, at: iso(question.askedAt),
      reply: reply && { words: reply.words, by: reply.repliedBy, at: iso(reply.repliedAt) },
    }));
}

/** What the practice asked about one photo set before it answered, oldest first. */
export function archivedBackQuestions(grant: ChildGrant<"export.ask">, photoSetId: string): ArchivedSet["askedBack"] {
  return database().select().from(backQuestions).where(and(own(backQuestions, grant), eq(backQuestions.photoSetId, photoSetId))).orderBy(asc(backQuestions.askedAt), asc(backQuestions.id)).all()
    .map(({ id, words, askedBy, askedAt, withdrawnAt, newPhotoAt, reply, repliedBy, repliedAt }) => ({
      id, words, by: askedBy, at: iso(askedAt), withdrawnAt: isoOrNull(withdrawnAt), newPhotoAt: isoOrNull(newPhotoAt),
      reply: reply === null || repliedAt === null ? null : { words: reply, by: repliedBy ?? "", at: iso(repliedAt) },
    }));
}

/** Visits and calls, symptoms, stops and what was read back, newest first. */
export function archivedEvents(grant: ChildGrant<"export.ask">): Pick<ChildRecord, "seenLive" | "symptoms" | "stops" | "readBacks"> {
  const db = database();
  return {
    seenLive: db.select().from(seenLive).where(own(seenLive, grant)).orderBy(desc(seenLive.seenAt)).all().map((seen) => {
      const names = exerciseWords(grant.practiceId, seen.exerciseKey, null, grant.actor.reader.locale);
      return {
        id: seen.id, by: seen.recordedBy, at: iso(seen.recordedAt), exercise: seen.exerciseKey, title: names.title, how: seen.how, seenAt: iso(seen.seenAt), note: seen.note,
        verdicts: archivedVerdicts(grant, eq(verdicts.seenLiveId, seen.id), names),
      };
    }),
    symptoms: db.select({ report: symptomReports, cleared: symptomClearances }).from(symptomReports)
      .leftJoin(symptomClearances, and(eq(symptomClearances.reportId, symptomReports.id), eq(symptomClearances.childId, symptomReports.childId)))
      .where(own(symptomReports, grant)).orderBy(desc(symptomReports.reportedAt)).all()
      .map(({ report, cleared }) => ({
        id: report.id, by: report.reportedBy, at: iso(report.reportedAt), tier: report.tier, noticed: (JSON.parse(report.symptoms) as readonly string[]).map(String), note: report.note,
        clearance: cleared && { spokeTo: cleared.spokeTo, outcome: cleared.outcome, by: cleared.clearedBy, at: iso(cleared.clearedAt) },
      })),
    stops: db.select().from(staffStops).where(own(staffStops, grant)).orderBy(desc(staffStops.placedAt)).all().map((stop) => ({
      id: stop.id, by: stop.placedBy, at: iso(stop.placedAt), exercise: stop.exerciseKey, reason: stop.reason,
      lifted: stop.liftedAt === null ? null : { reason: stop.liftReason ?? "", by: stop.liftedBy ?? "", at: iso(stop.liftedAt) },
    })),
    readBacks: db.select().from(readBacks).where(own(readBacks, grant)).orderBy(desc(readBacks.answeredAt)).all()
      .map(({ stopKind, stopId, question, choice, isRight, personId, answeredAt }) => ({ stopKind, stopId, question, choice, isRight, by: personId, at: iso(answeredAt) })),
  };
}

/** The child's own places, and nobody else's. */
export function archivedSessions(grant: ChildGrant<"export.ask">): ChildRecord["groupSessions"] {
  const rows = database().select({ place: sessionPlaces, startsAt: groupSessions.startsAt, exerciseKey: groupSessions.exerciseKey }).from(sessionPlaces)
    .innerJoin(groupSessions, eq(groupSessions.id, sessionPlaces.sessionId)).where(own(sessionPlaces, grant)).orderBy(desc(groupSessions.startsAt)).all();
  const asks = database().select().from(photoAsks).where(and(own(photoAsks, grant), inArray(photoAsks.placeId, rows.map(({ place }) => place.id)))).orderBy(asc(photoAsks.askedAt)).all();
  return rows.map(({ place, startsAt, exerciseKey }) => ({
    title: exerciseWords(grant.practiceId, exerciseKey, null, grant.actor.reader.locale).title, startsAt: iso(startsAt), decision: place.decision, askedAt: iso(place.askedAt), endedAt: isoOrNull(place.endedAt),
    photosAskedFor: asks.filter(({ placeId }) => placeId === place.id).map(({ dueOn, askedAt, takenBackAt }) => ({ dueOn, at: iso(askedAt), takenBackAt: isoOrNull(takenBackAt) })),
  }));
}
