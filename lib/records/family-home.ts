import "server-only";
import { eq, sql } from "drizzle-orm";
import { prepared } from "@/db/prepared";
import { practices } from "@/db/schema/practice";
import type { Actor } from "@/lib/access/actor";
import { expectation, type Expectation } from "@/lib/domain/time/expectation";
import { isOpen, nextOpening } from "@/lib/domain/time/working-time";
import type { Pause, Promised } from "@/lib/domain/time/working-week";
import { readCalendar } from "@/lib/records/calendar";

/** What this person's practice says of its time; one reading of its calendar. */
export type PracticeClock = {
  readonly zone: string;
  /** The next opening; null while it is open, and when no hours are to come. */
  readonly opensAt: number | null;
  expect(kind: Promised, arrivedAt: number, pauses?: readonly Pause[]): Expectation;
};

export function practiceClock(actor: Actor, now: number): PracticeClock {
  const calendar = readCalendar(actor.practiceId);
  return {
    zone: calendar.zone,
    opensAt: isOpen(calendar, now) ? null : nextOpening(calendar, now),
    expect: (kind, arrivedAt, pauses) => expectation(calendar, kind, arrivedAt, now, pauses),
  };
}

const called = prepared((db) => db.select({ name: practices.name, phone: practices.phone }).from(practices).where(eq(practices.id, sql.placeholder("practiceId"))).prepare());

/** What this person's practice is called, and the number to call, empty where there is none. */
export const practiceFor = (actor: Actor): { readonly name: string; readonly phone: string } =>
  called().get({ practiceId: actor.practiceId }) ?? { name: "", phone: "" };

/** The practice in a sentence that says to call it. */
export function practiceToCall(actor: Actor): string {
  const { name, phone } = practiceFor(actor);
  return phone ? `${name}, ${phone}` : name;
}
