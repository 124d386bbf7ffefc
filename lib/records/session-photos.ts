import "server-only";
import { and, asc, eq, gte, isNotNull, isNull, max, sql } from "drizzle-orm";
import { database, type Transaction } from "@/db/client";
import { among, OF_CHILD, prepared } from "@/db/prepared";
import { answers, seenLive, verdicts } from "@/db/schema/answers";
import { children, families } from "@/db/schema/care";
import { photoSets } from "@/db/schema/photos";
import { photoAsks, sessionPlaces } from "@/db/schema/sessions";
import type { PracticeGrant } from "@/lib/access/grant";
import { heldBack, type HeldBack } from "@/lib/domain/notices/again";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { askedPhoto, isOwed, type AskedPhoto, type SentSet } from "@/lib/domain/sessions/asked-photo";
import type { Fit } from "@/lib/domain/sessions/fit";
import type { PlaceDecision } from "@/lib/domain/sessions/group-session";
import { endOfLocalDay, localDate } from "@/lib/domain/time/local";
import { addNotice } from "@/lib/notices/add";
import { act } from "@/lib/records/act";
import { openedAt } from "@/lib/records/answer-openings";
import { readCalendar } from "@/lib/records/calendar";
import { readCarers, tellCarers } from "@/lib/records/carers";
import { own, type ChildRef } from "@/lib/records/child-facts";
import { readSession, type GroupSession } from "@/lib/records/group-sessions";
import { inForce } from "@/lib/records/in-force";
import { REMINDERS, remindedToday } from "@/lib/records/reminded-today";
import { readFits } from "@/lib/records/session-fit";
import { personName, standingFor } from "@/lib/records/standing";
import { unreadStopIds } from "@/lib/records/unread-stops";

/** `openedAt`: when a carer of the child had the answer before them; null for never, or while there is none. */
export type ReadAsk = AskedPhoto & { readonly openedAt: number | null };
export type Ask = ReadAsk & { readonly askId: string; readonly askedAt: number; readonly dueOn: string };

export type SessionChild = ChildRef & {
  readonly placeId: string;
  readonly childName: string;
  readonly familyName: string;
  /** Who asked for the place or gave it. */
  readonly askedBy: string;
  readonly placeAskedAt: number;
  readonly decision: PlaceDecision;
  /** As things stand now: a record may have changed since the child was taken in. */
  readonly fit: Fit;
  readonly heldBack: HeldBack | null;
  /** Null while no photo was asked for. */
  readonly ask: Ask | null;
};

/** Every child that has or asks for a place, by name. */
export const childrenIn = async (grant: PracticeGrant<"sessions.read">, session: GroupSession, now: number): Promise<readonly SessionChild[]> => readChildren(grant.practiceId, session, now);

function readChildren(practiceId: string, session: GroupSession, now: number): readonly SessionChild[] {
  const rows = database().select({
    placeId: sessionPlaces.id, childId: sessionPlaces.childId, familyId: sessionPlaces.familyId, decision: sessionPlaces.decision,
    askedBy: sessionPlaces.askedBy, placeAskedAt: sessionPlaces.askedAt, childName: children.givenName, familyName: families.name,
    askId: photoAsks.id, askedAt: photoAsks.askedAt, dueOn: photoAsks.dueOn,
  }).from(sessionPlaces)
    .innerJoin(children, and(eq(children.id, sessionPlaces.childId), eq(children.familyId, sessionPlaces.familyId)))
    .innerJoin(families, and(eq(families.id, sessionPlaces.familyId), eq(families.practiceId, practiceId)))
    .leftJoin(photoAsks, and(eq(photoAsks.placeId, sessionPlaces.id), isNull(photoAsks.takenBackAt)))
    .where(and(eq(sessionPlaces.sessionId, session.sessionId), isNull(sessionPlaces.endedAt))).orderBy(asc(children.givenName), asc(sessionPlaces.id)).all();
  const fit = readFits(practiceId, rows, session, now);
  return rows.map(({ askId, askedAt, dueOn, askedBy, ...row }) => {
    const standing = standingFor(practiceId, row, session.exerciseKey, now);
    const ask = askId !== null && askedAt !== null && dueOn !== null
      ? { askId, askedAt, dueOn, ...readAsked(practiceId, row, { exerciseKey: session.exerciseKey, askedAt, dueOn }, now) } : null;
    return {
      ...row, askedBy: personName(practiceId, askedBy) ?? "", fit: fit(row.childId),
      heldBack: heldBack({ photoConsent: standing.photoConsent, goAhead: standing.overall }), ask,
    };
  });
}

const EXERCISE = sql.placeholder("exerciseKey");
const setsSince = prepared((db) => db.select({ photoSetId: photoSets.id, sentAt: photoSets.sentAt, answerId: answers.id, answeredAt: answers.publishedAt, kind: answers.kind, nextStep: answers.nextStep })
  .from(photoSets).leftJoin(answers, and(eq(answers.photoSetId, photoSets.id), inForce(sql.placeholder("now"))))
  .where(and(own(photoSets, OF_CHILD), eq(photoSets.exerciseKey, EXERCISE), isNotNull(photoSets.sentAt), gte(photoSets.sentAt, sql.placeholder("askedAt")), isNull(photoSets.voidedAt))).prepare());
const lastSeenLive = prepared((db) => db.select({ at: max(seenLive.recordedAt) }).from(seenLive).where(and(own(seenLive, OF_CHILD), eq(seenLive.exerciseKey, EXERCISE))).prepare());
const stopsAmong = prepared((db) => db.selectDistinct({ id: verdicts.answerId }).from(verdicts)
  .where(and(own(verdicts, OF_CHILD), among(verdicts.answerId, "answerIds"), eq(verdicts.isStop, true), eq(verdicts.verdict, "fix"))).prepare());

/** What became of one photo that was asked for. For lib/records alone. */
export function readAsked(practiceId: string, ref: ChildRef, { exerciseKey, askedAt, dueOn }: { readonly exerciseKey: string; readonly askedAt: number; readonly dueOn: string }, now: number): ReadAsk {
  const { childId, familyId } = ref;
  const rows = setsSince().all({ childId, familyId, exerciseKey, askedAt, now });
  const stops = stopAnswers(ref, rows.flatMap(({ answerId }) => (answerId === null ? [] : [answerId])));
  const unread = stops.size === 0 ? stops : unreadStopIds(practiceId, ref, now);
  const sets = rows.flatMap(({ photoSetId, sentAt, answerId, answeredAt, kind, nextStep }): SentSet[] => (sentAt === null ? [] : [{
    photoSetId, sentAt, answer: answerId === null || answeredAt === null ? null : {
      answeredAt, asksForAnother: kind === "take-again" || nextStep === "new-photo",
      stop: !stops.has(answerId) ? "none" : unread.has(answerId) ? "unread" : "settled",
    },
  }]));
  const live = lastSeenLive().get({ childId, familyId, exerciseKey });
  const asked = askedPhoto({ askedAt, dueAt: endOfLocalDay(dueOn, readCalendar(practiceId).zone), sets, seenLiveAt: live?.at ?? null }, now);
  const answerId = rows.find(({ photoSetId }) => photoSetId === asked.photoSetId)?.answerId ?? null;
  return { ...asked, openedAt: answerId === null ? null : openedAt(ref, answerId, now) };
}

/** Those of these answers that stop the exercise. */
const stopAnswers = ({ childId, familyId }: ChildRef, answerIds: readonly string[]): ReadonlySet<string> =>
  new Set(stopsAmong().all({ childId, familyId, answerIds: JSON.stringify(answerIds) }).flatMap(({ id }) => (id === null ? [] : [id])));

export type MayBeAsked = Pick<SessionChild, "decision" | "fit" | "heldBack" | "ask">;
export const mayBeAsked = ({ decision, fit, heldBack: held, ask }: MayBeAsked): boolean => decision === "taken-in" && fit === "fits" && held === null && ask === null;
/** Owes a photo and may be reminded of it. */
export const mayBeReminded = ({ fit, heldBack: held, ask }: MayBeAsked): boolean => ask !== null && isOwed(ask.state) && fit === "fits" && held === null;

/**
 * Asks the people of the children named for a photo by a day. Who cannot be asked now, or is asked already, is left
 * out. Refused: `session-closed`, `session-due-past`, and `session-nobody-to-ask` when nobody is left.
 */
export async function askForPhotos(grant: PracticeGrant<"sessions.write">, input: { readonly sessionId: string; readonly placeIds: readonly string[]; readonly dueOn: string }, now: number): Promise<Result<null>> {
  return inOpenSession(grant, "session.photos-asked", input.sessionId, now, (tx, session) => {
    if (input.dueOn < localDate(now, readCalendar(grant.practiceId).zone)) return refuse("session-due-past", { field: "dueOn" });
    const asked = readChildren(grant.practiceId, session, now).filter((each) => input.placeIds.includes(each.placeId) && mayBeAsked(each));
    if (asked.length === 0) return refuse("session-nobody-to-ask");
    for (const { placeId, childId, familyId } of asked) {
      tx.insert(photoAsks).values({ id: crypto.randomUUID(), placeId, childId, familyId, dueOn: input.dueOn, askedBy: grant.actor.personId, askedAt: now }).run();
      tellCarers(tx, { childId, familyId }, "session-ask", `${session.sessionId}:${now}`, now);
    }
    return ok(null);
  });
}

/** Takes back what was asked of one child. Refused: `stale-version`. */
export async function takeBackAsk(grant: PracticeGrant<"sessions.write">, askId: string, now: number): Promise<Result<null>> {
  const ask = database().select({ familyId: photoAsks.familyId }).from(photoAsks).innerJoin(families, eq(families.id, photoAsks.familyId))
    .where(and(eq(photoAsks.id, askId), eq(families.practiceId, grant.practiceId))).get();
  if (!ask) return refuse("stale-version");
  return act({ ...grant, familyId: ask.familyId }, "session.ask-taken-back", now, (tx) => {
    const taken = tx.update(photoAsks).set({ takenBackAt: now, takenBackBy: grant.actor.personId }).where(and(eq(photoAsks.id, askId), isNull(photoAsks.takenBackAt))).run();
    return taken.changes === 1 ? ok({ objectId: askId, value: null }) : refuse("stale-version");
  });
}

/**
 * One polite mail to everybody who owes a photo, at most one a day and person on the practice's day. Refused:
 * `session-closed`, `session-nobody-owes`, and `session-reminded-today` when everybody was mailed today.
 */
export async function remindOfSession(grant: PracticeGrant<"sessions.write">, sessionId: string, now: number): Promise<Result<null>> {
  return inOpenSession(grant, "session.reminded", sessionId, now, (tx, session) => {
    const people = owingPeople(readChildren(grant.practiceId, session, now), now);
    if (people.size === 0) return refuse("session-nobody-owes");
    const before = remindedToday(grant.practiceId, REMINDERS, now);
    const due = [...people].filter((personId) => !before.has(personId));
    if (due.length === 0) return refuse("session-reminded-today");
    const day = localDate(now, readCalendar(grant.practiceId).zone);
    for (const personId of due) addNotice(tx, { kind: "session-reminder", personId, dedupeKey: `session-reminder:${personId}:${day}`, now });
    return ok(null);
  });
}

export type ReminderState = "nobody-owes" | "reminded-today" | "due";

/** What the one press would do now. */
export async function reminderState(grant: PracticeGrant<"sessions.read">, rows: readonly SessionChild[], now: number): Promise<ReminderState> {
  const people = owingPeople(rows, now);
  if (people.size === 0) return "nobody-owes";
  const before = remindedToday(grant.practiceId, REMINDERS, now);
  return [...people].every((personId) => before.has(personId)) ? "reminded-today" : "due";
}

const owingPeople = (rows: readonly SessionChild[], now: number): ReadonlySet<string> =>
  new Set(rows.filter(mayBeReminded).flatMap((ref) => readCarers(ref, now).map(({ personId }) => personId)));

function inOpenSession(grant: PracticeGrant<"sessions.write">, name: string, sessionId: string, now: number, change: (tx: Transaction, session: GroupSession) => Result<null>): Result<null> {
  return act(grant, name, now, (tx) => {
    const session = readSession(grant.practiceId, sessionId, now);
    if (!session) return refuse("stale-version");
    if (session.closedAt !== null) return refuse("session-closed");
    const changed = change(tx, session);
    return changed.ok ? ok({ objectId: sessionId, value: null }) : changed;
  });
}
