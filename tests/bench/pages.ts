import { childrenToday } from "@/app/family/children-today";
import { database } from "@/db/client";
import { grant } from "@/lib/access/grant";
import { answerTimes } from "@/lib/records/answer-times";
import { deskOf } from "@/lib/records/answering";
import { historyOf } from "@/lib/records/answers-read";
import { openBackQuestions } from "@/lib/records/back-question-reads";
import { caseloadOf } from "@/lib/records/caseload";
import { libraryOf } from "@/lib/records/cues";
import { draftOf } from "@/lib/records/drafts";
import { childrenOf, familiesOf, sentByChild } from "@/lib/records/families";
import { versionsOf } from "@/lib/records/given-answers";
import { requestsWaiting, sessionOf } from "@/lib/records/group-sessions";
import { languagesOf } from "@/lib/records/language";
import { comparable } from "@/lib/records/pairs";
import { practiceDaysOf } from "@/lib/records/practice-days";
import { queueOf } from "@/lib/records/queue";
import { remindOfPhotos, repeatAlarms } from "@/lib/records/reminders";
import { expiryOf } from "@/lib/records/retention";
import { mayBeTakenIn } from "@/lib/records/session-fit";
import { ownSessions } from "@/lib/records/session-home";
import { childrenIn, reminderState } from "@/lib/records/session-photos";
import { settleWeeks } from "@/lib/records/settled-times";
import { standings, standingsOf } from "@/lib/records/standing";
import { pendingAnswers } from "@/lib/records/take-back";
import { unreadStops } from "@/lib/records/unread-stops";
import type { Grown } from "@/tests/bench/big-practice";

/** What the pages that are opened all day read, from the functions that they call. */
export function pagesOf({ lead, therapist, guardian, childId, photoSetId, sessionId }: Grown, now: number): Readonly<Record<string, () => Promise<unknown>>> {
  return {
    "to answer": async () => {
      const reading = await grant(therapist, "queue.read", null);
      await queueOf(reading, now);
      await unreadStops(reading, now);
      await pendingAnswers(reading, now);
      await requestsWaiting(await grant(therapist, "sessions.read", null));
    },
    "answering desk": async () => {
      const granted = await grant(therapist, "answer.write", childId);
      await deskOf(granted, photoSetId, now);
      await draftOf(granted, photoSetId);
      await libraryOf(await grant(therapist, "cues.read", null), "side-lying", now);
      await versionsOf(granted, photoSetId, now);
      await comparable(granted, "side-lying", now);
      await languagesOf(granted);
    },
    "before you start": async () => {
      await childrenToday(guardian, now);
      for (const own of await childrenOf(guardian)) {
        const reading = await grant(guardian, "child.read", own.childId);
        await ownSessions(reading, now);
        await openBackQuestions(reading, now);
        await expiryOf(reading, now);
      }
    },
    history: async () => {
      for (const own of await childrenOf(guardian)) {
        const reading = await grant(guardian, "child.read", own.childId);
        await expiryOf(reading, now);
        for (const { exerciseKey } of await standingsOf(reading, now)) {
          await practiceDaysOf(reading, exerciseKey);
          await historyOf(reading, exerciseKey, now);
        }
      }
    },
    families: async () => {
      const reading = await grant(therapist, "families.read", null);
      const { families } = await familiesOf(reading);
      await standings(reading, families.map(({ familyId }) => familyId), now);
      await sentByChild(reading, families.flatMap(({ children }) => children.map((child) => child.childId)));
    },
    "group session": async () => {
      const reading = await grant(therapist, "sessions.read", null);
      const session = await sessionOf(reading, sessionId, now);
      if (!session) throw new Error("the session is missing");
      const rows = await childrenIn(reading, session, now);
      await mayBeTakenIn(await grant(therapist, "families.read", null), session, rows, now);
      await reminderState(reading, rows, now);
    },
    "answer times": async () => answerTimes(await grant(lead, "times.read", null), "week", now),
  };
}

/** What looks at the whole practice, on a page of its own or every minute: it takes as long as there is, in pieces. */
export function wholePractice({ therapist }: Grown, now: number): Readonly<Record<string, () => Promise<unknown>>> {
  return {
    caseload: async () => caseloadOf(await grant(therapist, "caseload.read", null), { weeks: null, order: "urgency" }, now),
    "families, by a name": async () => familiesOf(await grant(therapist, "families.read", null), { sought: "quin 0", page: 1 }),
    "alarms, every minute": async () => repeatAlarms(database(), now),
    "reminders, every quarter of an hour": () => remindOfPhotos(database(), now),
    "one week settled": async () => {
      database().$client.exec("delete from settled_weeks where week_from = (select max(week_from) from settled_weeks)");
      await settleWeeks(now);
    },
  };
}
