import * as fc from "fast-check";
import { describe, expect, it } from "vitest";
import { isWaiting, pausesOf, takesPlaceOfWords } from "@/lib/domain/answering/back-question";
import { dueClock } from "@/lib/domain/answering/due-clock";
import { expectation } from "@/lib/domain/time/expectation";
import { answerTimeMs, dueAt } from "@/lib/domain/time/working-time";
import type { CalendarHistory } from "@/lib/domain/time/working-week";

const HOUR = 3_600_000;
const DAY = [["09:00", "17:00"]] as const;
/** Monday to Friday, 9 to 17, in London before summer time: the wall clock is UTC. 8 working hours promised. */
const LONDON: CalendarHistory = {
  zone: "Europe/London", closures: [], openings: [],
  versions: [{ effectiveFrom: 0, zone: "Europe/London", week: { 1: DAY, 2: DAY, 3: DAY, 4: DAY, 5: DAY }, promiseMs: { "photo-set": 8 * HOUR, question: 12 * HOUR, symptom: HOUR } }],
};
/** March 2026; the 2nd is a Monday. */
const at = (day: number, hour: number) => Date.UTC(2026, 2, day, hour);
const asked = (askedAt: number, end: { readonly repliedAt?: number; readonly withdrawnAt?: number; readonly newPhotoAt?: number } = {}) => ({ askedAt, repliedAt: null, withdrawnAt: null, newPhotoAt: null, ...end });

describe("a photo set whose family is asked something", () => {
  // Sent on Monday at 10, asked at 12: 2 of 8 working hours are spent. Worked by hand.
  const sent = at(2, 10);
  const open = [asked(at(2, 12))];

  it("has no due time and is never overdue while its family has not answered, however long that takes", () => {
    expect(open.every(isWaiting)).toBe(true);
    for (const now of [at(2, 13), at(3, 12), at(20, 12)]) {
      expect(dueClock(LONDON, "photo-set", sent, now, pausesOf(open, null))).toEqual({ dueAt: null, isOverdue: false, leftMs: 6 * HOUR, leftShare: 0.75 });
      expect(expectation(LONDON, "photo-set", sent, now, pausesOf(open, null))).toEqual({ is: "paused" });
    }
  });

  it("is back with what was left, from the family's words, its new photo or the withdrawal on", () => {
    for (const end of [{ repliedAt: at(4, 11) }, { withdrawnAt: at(4, 11) }, { newPhotoAt: at(4, 11) }]) {
      const pauses = pausesOf([asked(at(2, 12), end)], null);
      // Wednesday 11 to 17, six hours.
      expect(dueAt(LONDON, "photo-set", sent, pauses)).toBe(at(4, 17));
      expect(dueClock(LONDON, "photo-set", sent, at(4, 12), pauses)).toEqual({ dueAt: at(4, 17), isOverdue: false, leftMs: 5 * HOUR, leftShare: 0.625 });
      expect(dueClock(LONDON, "photo-set", sent, at(5, 10), pauses)).toEqual({ dueAt: at(4, 17), isOverdue: true, leftMs: HOUR, leftShare: 0 });
      expect(expectation(LONDON, "photo-set", sent, at(4, 12), pauses)).toEqual({ is: "by", by: at(4, 17), opensAt: null });
    }
  });

  it("was late already stays late once the family has answered, by the working time that counted", () => {
    // Due on Tuesday at 10; asked at 12, two hours late; answered on Thursday at 9.
    const late = [asked(at(3, 12), { repliedAt: at(5, 9) })];
    expect(dueClock(LONDON, "photo-set", sent, at(4, 12), pausesOf([asked(at(3, 12))], null))).toEqual({ dueAt: null, isOverdue: false, leftMs: 0, leftShare: 0 });
    expect(dueClock(LONDON, "photo-set", sent, at(5, 10), pausesOf(late, null))).toEqual({ dueAt: at(3, 10), isOverdue: true, leftMs: 3 * HOUR, leftShare: 0 });
  });

  it("stops its pause at an answer sent without waiting, whatever the family says later", () => {
    const answeredAt = at(3, 10);
    expect(pausesOf(open, answeredAt)).toEqual([{ from: at(2, 12), until: answeredAt }]);
    expect(pausesOf([asked(at(2, 12), { repliedAt: at(6, 9) })], answeredAt)).toEqual([{ from: at(2, 12), until: answeredAt }]);
    expect(answerTimeMs(LONDON, sent, answeredAt, pausesOf(open, answeredAt))).toBe(2 * HOUR);
  });

  it("pauses for each of several questions and never runs backwards", () => {
    fc.assert(fc.property(
      fc.array(fc.record({ askedAt: fc.nat(1000), repliedAt: fc.option(fc.nat(1000)), withdrawnAt: fc.option(fc.nat(1000)), newPhotoAt: fc.option(fc.nat(1000)) })), fc.option(fc.nat(1000)),
      (questions, answeredAt) => {
        const pauses = pausesOf(questions, answeredAt);
        expect(pauses).toHaveLength(questions.length);
        for (const [index, { from, until }] of pauses.entries()) {
          expect(from).toBe(questions[index]?.askedAt);
          if (until !== null) expect(until).toBeGreaterThanOrEqual(from);
          // Only an unanswered set can still wait.
          else expect([answeredAt, questions[index]?.repliedAt, questions[index]?.withdrawnAt, questions[index]?.newPhotoAt]).toEqual([null, null, null, null]);
        }
      },
    ));
  });
});

describe("a new photo set in the place of words", () => {
  it("is one that was taken and sent after the question; anything older or without a known time leaves it open", () => {
    const question = at(2, 12);
    expect(takesPlaceOfWords({ saidAt: at(2, 14), takenAt: at(2, 13) }, question)).toBe(true);
    // An older picture, one whose time nobody knows, one that lay on the phone when the question was asked, and the very moment.
    for (const set of [{ saidAt: at(2, 14), takenAt: at(2, 11) }, { saidAt: at(2, 14), takenAt: null }, { saidAt: at(2, 11), takenAt: at(2, 11) }, { saidAt: question, takenAt: question }]) {
      expect(takesPlaceOfWords(set, question)).toBe(false);
    }
  });
});
