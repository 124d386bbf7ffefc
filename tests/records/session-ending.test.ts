import { eq } from "drizzle-orm";
import { afterEach, beforeEach, expect, test } from "vitest";
import { database } from "@/db/client";
import { people } from "@/db/schema/practice";
import { sessions } from "@/db/schema/sign-in";
import { actorOf, endSessionsOf, openSession, sessionEnding } from "@/lib/access/session-row";
import { addPerson, makeWorld } from "@/tests/records/world";

const NOW = Date.UTC(2026, 10, 28, 12);
const MINUTE = 60_000;
const HOUR = 60 * MINUTE;
let world: ReturnType<typeof makeWorld>;
beforeEach(() => {
  world = makeWorld();
  addPerson("therapist", "therapist");
  addPerson("mother", "guardian");
});
afterEach(() => world.close());

function opened(personId: string, provedAt: number | null): string {
  const session = database().transaction((tx) => openSession(tx, { personId, provedAt, replaces: null }, NOW));
  if (!session) throw new Error("no session was opened");
  return session.token;
}
const ending = (token: string, now: number) => sessionEnding(token, now)?.ending ?? null;

test("says how long is left, and asking makes it no longer; using it does", () => {
  const token = opened("therapist", NOW);
  for (const minutes of [1, 30, 55]) expect(ending(token, NOW + minutes * MINUTE)).toEqual({ leftMs: (60 - minutes) * MINUTE, mayStay: true });
  expect(actorOf(token, NOW + 56 * MINUTE)?.personId).toBe("therapist");
  expect(ending(token, NOW + 56 * MINUTE)).toEqual({ leftMs: HOUR, mayStay: true });
  expect(ending(token, NOW + 3 * HOUR)).toBeNull();
});

test("near the end of the day no press helps; a family has its 90 days", () => {
  const [staff, family] = [opened("therapist", NOW), opened("mother", null)];
  database().update(sessions).set({ lastSeenAt: NOW + 24 * HOUR - MINUTE }).where(eq(sessions.personId, "therapist")).run();
  expect(ending(staff, NOW + 24 * HOUR - 4 * MINUTE)).toEqual({ leftMs: 4 * MINUTE, mayStay: false });
  expect(ending(family, NOW)).toEqual({ leftMs: 30 * 24 * HOUR, mayStay: true });
});

test("is over at once when the session is ended, its person disabled, or it never was", () => {
  const [one, two] = [opened("therapist", NOW), opened("mother", null)];
  database().transaction((tx) => endSessionsOf(tx, "therapist", NOW));
  database().update(people).set({ disabledAt: NOW }).where(eq(people.id, "mother")).run();
  expect([one, two, "never"].map((token) => ending(token, NOW))).toEqual([null, null, null]);
});
