import "server-only";
import { and, asc, count, desc, eq, isNotNull, isNull, sql } from "drizzle-orm";
import { database, type Transaction } from "@/db/client";
import { groupSessions, sessionPlaces } from "@/db/schema/sessions";
import type { PracticeGrant } from "@/lib/access/grant";
import { checkTypedSides } from "@/lib/domain/answering/check-answer";
import type { Pattern } from "@/lib/domain/curve/record";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { stageOf, type SessionStage } from "@/lib/domain/sessions/group-session";
import { coveredSetups } from "@/lib/domain/setup/covered-patterns";
import type { Exercise } from "@/lib/domain/setup/exercise";
import type { SetupSides } from "@/lib/domain/setup/setup-sides";
import { DAY_MS, instantOf } from "@/lib/domain/time/local";
import { minutesOf } from "@/lib/domain/time/spans";
import { act } from "@/lib/records/act";
import { readCalendar } from "@/lib/records/calendar";
import { tellCarers } from "@/lib/records/carers";
import { exerciseKeys, exerciseOf, taughtKeys } from "@/lib/records/exercises";

/** One exercise for one curve pattern that its rules cover: what a group can be taught. */
export type Teachable = { readonly exerciseKey: string; readonly pattern: Pattern; readonly setup: SetupSides };

/** What a new session may be for. */
export const teachable = async (grant: PracticeGrant<"sessions.read">): Promise<readonly Teachable[]> =>
  taughtKeys(grant.practiceId).flatMap((key) => taughtAs(grant.practiceId, key));

/** Trying an exercise on every pattern takes a while, and a version never changes. */
const tried = new WeakMap<Exercise, readonly Teachable[]>();

function taughtAs(practiceId: string, exerciseKey: string): readonly Teachable[] {
  const exercise = exerciseOf(practiceId, exerciseKey);
  const known = tried.get(exercise) ?? coveredSetups(exercise).flatMap(({ setup, patterns }) => patterns.map((pattern) => ({ exerciseKey, pattern, setup })));
  tried.set(exercise, known);
  return known;
}

export type GroupSession = {
  readonly sessionId: string;
  readonly exerciseKey: string;
  readonly patternKey: string;
  /** Null once the exercise's newest version no longer covers it. */
  readonly pattern: Pattern | null;
  readonly startsAt: number;
  readonly howToJoin: string;
  readonly closedAt: number | null;
  readonly stage: SessionStage;
  readonly version: number;
};
export type ListedSession = GroupSession & { readonly takenIn: number; readonly waiting: number };

/** Every session of the practice, the newest first. */
export async function sessionsOf(grant: PracticeGrant<"sessions.read">, now: number): Promise<readonly ListedSession[]> {
  const places = database().select({ sessionId: sessionPlaces.sessionId, decision: sessionPlaces.decision, n: count() }).from(sessionPlaces)
    .where(isNull(sessionPlaces.endedAt)).groupBy(sessionPlaces.sessionId, sessionPlaces.decision).all();
  const placed = (sessionId: string, decision: "taken-in" | null) => places.find((each) => each.sessionId === sessionId && each.decision === decision)?.n ?? 0;
  return database().select().from(groupSessions).where(eq(groupSessions.practiceId, grant.practiceId)).orderBy(desc(groupSessions.startsAt)).all()
    .map((row) => ({ ...viewOf(row, now), takenIn: placed(row.id, "taken-in"), waiting: placed(row.id, null) }));
}

/** How many places are asked for and undecided, in sessions that are not closed. */
export async function requestsWaiting(grant: PracticeGrant<"sessions.read">): Promise<number> {
  return database().select({ n: count() }).from(sessionPlaces).innerJoin(groupSessions, eq(groupSessions.id, sessionPlaces.sessionId))
    .where(and(eq(groupSessions.practiceId, grant.practiceId), isNull(groupSessions.closedAt), isNull(sessionPlaces.endedAt), isNull(sessionPlaces.decision))).get()?.n ?? 0;
}

/** Null when this practice has none such. */
export const sessionOf = async (grant: PracticeGrant<"sessions.read">, sessionId: string, now: number): Promise<GroupSession | null> => readSession(grant.practiceId, sessionId, now);

/** For lib/records alone: the caller has the grant, or the key of an invitation. */
export function readSession(practiceId: string, sessionId: string, now: number): GroupSession | null {
  const row = database().select().from(groupSessions).where(and(eq(groupSessions.id, sessionId), eq(groupSessions.practiceId, practiceId))).get();
  return row ? viewOf(row, now) : null;
}

function viewOf(row: typeof groupSessions.$inferSelect, now: number): GroupSession {
  const { id: sessionId, exerciseKey, patternKey, startsAt, howToJoin, closedAt, version } = row;
  const known = exerciseKeys(row.practiceId).includes(exerciseKey) ? taughtAs(row.practiceId, exerciseKey) : [];
  const pattern = known.find((each) => each.pattern.key === patternKey)?.pattern ?? null;
  return { sessionId, exerciseKey, patternKey, pattern, startsAt, howToJoin, closedAt, stage: stageOf(row, now), version };
}

/** In the practice's zone: a local date and "HH:MM". */
export type SessionWhen = { readonly day: string; readonly time: string; readonly howToJoin: string };

/**
 * A new group session. Refused: `form-invalid` for a pattern that the exercise's rules do not cover, `session-date`
 * for a day far away, which is a slip, and `words-side-disagree` for a typed side that is not this group's.
 */
export async function createSession(
  grant: PracticeGrant<"sessions.write">,
  input: SessionWhen & { readonly exerciseKey: string; readonly patternKey: string },
  now: number,
): Promise<Result<{ readonly sessionId: string }>> {
  const taught = taughtKeys(grant.practiceId).includes(input.exerciseKey)
    ? taughtAs(grant.practiceId, input.exerciseKey).find((each) => each.pattern.key === input.patternKey) : undefined;
  if (!taught) return refuse("form-invalid", { field: "taught" });
  const when = checkedWhen(grant.practiceId, input, taught.setup, now);
  if (!when.ok) return when;
  const sessionId = crypto.randomUUID();
  return act(grant, "session.created", now, (tx) => {
    tx.insert(groupSessions).values({
      id: sessionId, practiceId: grant.practiceId, exerciseKey: input.exerciseKey, patternKey: input.patternKey, ...when.value,
      createdBy: grant.actor.personId, createdAt: now,
    }).run();
    return ok({ objectId: sessionId, value: { sessionId } });
  });
}

/** Another time, or other words on how to join; whoever comes or waits is told. Refused besides: `stale-version`. */
export async function changeSession(
  grant: PracticeGrant<"sessions.write">,
  input: SessionWhen & { readonly sessionId: string; readonly version: number },
  now: number,
): Promise<Result<null>> {
  const session = readSession(grant.practiceId, input.sessionId, now);
  if (!session) return refuse("stale-version");
  const setup = taughtAs(grant.practiceId, session.exerciseKey).find((each) => each.pattern.key === session.patternKey)?.setup ?? null;
  const when = checkedWhen(grant.practiceId, input, setup, now);
  if (!when.ok) return when;
  return act(grant, "session.changed", now, (tx) => {
    const changed = tx.update(groupSessions).set({ ...when.value, version: input.version + 1 }).where(and(
      eq(groupSessions.id, input.sessionId), eq(groupSessions.practiceId, grant.practiceId), eq(groupSessions.version, input.version), isNull(groupSessions.closedAt),
    )).run();
    if (changed.changes === 0) return refuse("stale-version");
    if (now < Math.max(session.startsAt, when.value.startsAt)) tellWhoComes(tx, input.sessionId, `${input.version + 1}`, now);
    return ok({ objectId: input.sessionId, value: null });
  });
}

/** Closes it for all; before it begins that calls it off, and whoever comes or waits is told. */
export async function closeSession(grant: PracticeGrant<"sessions.write">, sessionId: string, now: number): Promise<Result<null>> {
  return act(grant, "session.closed", now, (tx) => {
    const closed = tx.update(groupSessions).set({ closedAt: now, closedBy: grant.actor.personId, version: sql`${groupSessions.version} + 1` })
      .where(and(eq(groupSessions.id, sessionId), eq(groupSessions.practiceId, grant.practiceId), isNull(groupSessions.closedAt)))
      .returning({ startsAt: groupSessions.startsAt, version: groupSessions.version }).get();
    if (!closed) return refuse("stale-version");
    if (now < closed.startsAt) tellWhoComes(tx, sessionId, `${closed.version}`, now);
    return ok({ objectId: sessionId, value: null });
  });
}

/** Takes closing back; what was called off takes place again. */
export async function reopenSession(grant: PracticeGrant<"sessions.write">, sessionId: string, now: number): Promise<Result<null>> {
  return act(grant, "session.reopened", now, (tx) => {
    const opened = tx.update(groupSessions).set({ closedAt: null, closedBy: null, version: sql`${groupSessions.version} + 1` })
      .where(and(eq(groupSessions.id, sessionId), eq(groupSessions.practiceId, grant.practiceId), isNotNull(groupSessions.closedAt)))
      .returning({ startsAt: groupSessions.startsAt, version: groupSessions.version }).get();
    if (!opened) return refuse("stale-version");
    if (now < opened.startsAt) tellWhoComes(tx, sessionId, `${opened.version}`, now);
    return ok({ objectId: sessionId, value: null });
  });
}

function tellWhoComes(tx: Transaction, sessionId: string, change: string, now: number): void {
  const places = tx.select({ childId: sessionPlaces.childId, familyId: sessionPlaces.familyId, decision: sessionPlaces.decision }).from(sessionPlaces)
    .where(and(eq(sessionPlaces.sessionId, sessionId), isNull(sessionPlaces.endedAt))).orderBy(asc(sessionPlaces.askedAt)).all();
  for (const { decision, ...ref } of places) if (decision !== "declined") tellCarers(tx, ref, "session-changed", `${sessionId}:${change}`, now);
}

/** A year ahead, and three months back for one that is written down late. */
const [AHEAD_MS, BACK_MS] = [400 * DAY_MS, 90 * DAY_MS];

/** Of an hour the zone skips, as far after the jump; of a repeated one, the first. `setup` null: no side can be compared. */
function checkedWhen(practiceId: string, { day, time, howToJoin }: SessionWhen, setup: SetupSides | null, now: number): Result<{ readonly startsAt: number; readonly howToJoin: string }> {
  const startsAt = instantOf(day, minutesOf(time), readCalendar(practiceId).zone);
  if (startsAt > now + AHEAD_MS || startsAt < now - BACK_MS) return refuse("session-date", { field: "day" });
  const words = howToJoin.trim();
  const sides = setup ? checkTypedSides([{ field: "howToJoin", text: words }], setup, { wordsConfirmed: false, sideReason: "" }) : ok(null);
  return sides.ok ? ok({ startsAt, howToJoin: words }) : sides;
}
