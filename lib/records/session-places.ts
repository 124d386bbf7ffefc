import "server-only";
import { and, eq, isNull } from "drizzle-orm";
import { database, type Transaction } from "@/db/client";
import { children, families } from "@/db/schema/care";
import { groupSessions, photoAsks, sessionPlaces } from "@/db/schema/sessions";
import type { ChildGrant, PracticeGrant } from "@/lib/access/grant";
import { ok, refuse, type Result } from "@/lib/domain/result";
import type { Fit } from "@/lib/domain/sessions/fit";
import type { PlaceDecision } from "@/lib/domain/sessions/group-session";
import type { Locale } from "@/lib/domain/words/reader";
import { act } from "@/lib/records/act";
import { tellCarers } from "@/lib/records/carers";
import { own, type ChildRef } from "@/lib/records/child-facts";
import { exerciseWords, type ExerciseNames } from "@/lib/records/exercise-names";
import { readSession } from "@/lib/records/group-sessions";
import { readFit } from "@/lib/records/session-fit";
import { readInvited } from "@/lib/records/session-invitations";
import { tellStaff } from "@/lib/records/tell-staff";

/** An exercise's title, and its language where that is not the reader's. */
export type NamedExercise = { readonly title: string; readonly lang: Locale | undefined };
/** For lib/records alone. */
export const namedExercise = ({ title, languageOf }: ExerciseNames): NamedExercise => ({ title, lang: languageOf(title) });

/** What an invitation means for one child. The exercise is named only to whom it fits. */
export type JoinChoice =
  | { readonly fit: "fits"; readonly exercise: NamedExercise; readonly place: PlaceDecision | "none" }
  | { readonly fit: Exclude<Fit, "fits">; readonly place: "none" };

/** Null when the address does not work. */
export async function joinChoice(grant: ChildGrant<"session.join">, key: string, now: number): Promise<JoinChoice | null> {
  const session = readInvited(grant.practiceId, key, now);
  if (!session) return null;
  const fit = readFit(grant.practiceId, grant, session, now);
  if (fit !== "fits") return { fit, place: "none" };
  const place = openPlace(database(), grant, session.sessionId);
  return { fit, exercise: namedExercise(exerciseWords(grant.practiceId, session.exerciseKey, null, grant.actor.reader.locale)), place: place ? place.decision : "none" };
}

/**
 * A family asks to come with one child; the staff are told. Asked twice, or by both guardians, it is asked once.
 * Refused: `session-link` for an address that does not work, `session-misfit` for a child it is not for.
 */
export async function askToCome(grant: ChildGrant<"session.join">, key: string, now: number): Promise<Result<null>> {
  return act(grant, "session.asked-to-come", now, (tx) => {
    const session = readInvited(grant.practiceId, key, now);
    if (!session) return refuse("session-link");
    if (readFit(grant.practiceId, grant, session, now) !== "fits") return refuse("session-misfit");
    const there = openPlace(tx, grant, session.sessionId);
    if (there) return ok({ objectId: there.placeId, value: null });
    const placeId = insertPlace(tx, grant, session.sessionId, grant.actor.personId, now);
    tellStaff(tx, grant.practiceId, "session-request", placeId, now);
    return ok({ objectId: placeId, value: null });
  });
}

/** The family cannot come, or takes its request back. Refused: `stale-version` when there is no place any more. */
export async function giveUpPlace(grant: ChildGrant<"session.join">, placeId: string, now: number): Promise<Result<null>> {
  return act(grant, "session.place-given-up", now, (tx) =>
    endPlace(tx, and(eq(sessionPlaces.id, placeId), own(sessionPlaces, grant)), grant.actor.personId, now) ? ok({ objectId: placeId, value: null }) : refuse("stale-version"));
}

type Decide = { readonly placeId: string; readonly decision: "taken-in" | "declined"; /** What stood there when it was pressed. */ readonly seen: PlaceDecision };

/** Refused: `stale-version` when a colleague or the family was first, `session-closed`, `session-misfit`. */
export async function decidePlace(grant: PracticeGrant<"sessions.write">, { placeId, decision, seen }: Decide, now: number): Promise<Result<null>> {
  const place = placeIn(grant.practiceId, placeId);
  if (!place) return refuse("stale-version");
  return act({ ...grant, familyId: place.familyId }, decision === "taken-in" ? "session.child-taken-in" : "session.child-declined", now, (tx) => {
    const session = readSession(grant.practiceId, place.sessionId, now);
    if (!session) return refuse("stale-version");
    if (session.closedAt !== null) return refuse("session-closed");
    if (decision === "taken-in" && readFit(grant.practiceId, place, session, now) !== "fits") return refuse("session-misfit");
    const decided = tx.update(sessionPlaces).set({ decision, decidedBy: grant.actor.personId, decidedAt: now }).where(and(
      eq(sessionPlaces.id, placeId), isNull(sessionPlaces.endedAt), seen === null ? isNull(sessionPlaces.decision) : eq(sessionPlaces.decision, seen),
    )).run();
    if (decided.changes === 0 || decision === seen) return refuse("stale-version");
    if (decision === "declined") takeBackAsks(tx, placeId, grant.actor.personId, now);
    tellCarers(tx, place, "session-place", `${placeId}:${now}`, now);
    return ok({ objectId: placeId, value: null });
  });
}

/** Staff give a child of the practice a place. Refused: `session-closed`, `session-misfit`, `stale-version` for one that has a place or is not here. */
export async function takeIn(grant: PracticeGrant<"sessions.write">, input: { readonly sessionId: string; readonly careOf: string }, now: number): Promise<Result<null>> {
  const ref = database().select({ childId: children.id, familyId: children.familyId }).from(children).innerJoin(families, eq(families.id, children.familyId))
    .where(and(eq(children.id, input.careOf), eq(families.practiceId, grant.practiceId))).get();
  if (!ref) return refuse("stale-version");
  return act({ ...grant, familyId: ref.familyId }, "session.child-taken-in", now, (tx) => {
    const session = readSession(grant.practiceId, input.sessionId, now);
    if (!session || openPlace(tx, ref, session.sessionId)) return refuse("stale-version");
    if (session.closedAt !== null) return refuse("session-closed");
    if (readFit(grant.practiceId, ref, session, now) !== "fits") return refuse("session-misfit");
    const placeId = insertPlace(tx, ref, session.sessionId, grant.actor.personId, now, "taken-in");
    tellCarers(tx, ref, "session-place", `${placeId}:${now}`, now);
    return ok({ objectId: placeId, value: null });
  });
}

/** Takes a child out again, and with it the photo that was asked for. Refused: `stale-version`. */
export async function takeOut(grant: PracticeGrant<"sessions.write">, placeId: string, now: number): Promise<Result<null>> {
  const place = placeIn(grant.practiceId, placeId);
  if (!place) return refuse("stale-version");
  return act({ ...grant, familyId: place.familyId }, "session.child-taken-out", now, (tx) => {
    if (!endPlace(tx, eq(sessionPlaces.id, placeId), grant.actor.personId, now)) return refuse("stale-version");
    tellCarers(tx, place, "session-place", `${placeId}:${now}`, now);
    return ok({ objectId: placeId, value: null });
  });
}

/** Whose place it is, ended or not, so that the audit can name the family; null for none of this practice. */
const placeIn = (practiceId: string, placeId: string) =>
  database().select({ sessionId: sessionPlaces.sessionId, childId: sessionPlaces.childId, familyId: sessionPlaces.familyId }).from(sessionPlaces)
    .innerJoin(groupSessions, eq(groupSessions.id, sessionPlaces.sessionId)).where(and(eq(sessionPlaces.id, placeId), eq(groupSessions.practiceId, practiceId))).get();

const openPlace = (db: Pick<Transaction, "select">, ref: ChildRef, sessionId: string) =>
  db.select({ placeId: sessionPlaces.id, decision: sessionPlaces.decision }).from(sessionPlaces)
    .where(and(own(sessionPlaces, ref), eq(sessionPlaces.sessionId, sessionId), isNull(sessionPlaces.endedAt))).get();

function insertPlace(tx: Transaction, { childId, familyId }: ChildRef, sessionId: string, by: string, now: number, decision: PlaceDecision = null): string {
  const placeId = crypto.randomUUID();
  tx.insert(sessionPlaces).values({
    id: placeId, childId, familyId, sessionId, askedBy: by, askedAt: now, decision, ...(decision ? { decidedBy: by, decidedAt: now } : {}),
  }).run();
  return placeId;
}

/** False when none was open. */
function endPlace(tx: Transaction, which: ReturnType<typeof and>, by: string, now: number): boolean {
  const ended = tx.update(sessionPlaces).set({ endedAt: now, endedBy: by }).where(and(which, isNull(sessionPlaces.endedAt))).returning({ id: sessionPlaces.id }).all();
  for (const { id } of ended) takeBackAsks(tx, id, by, now);
  return ended.length > 0;
}

const takeBackAsks = (tx: Transaction, placeId: string, by: string, now: number): void => {
  tx.update(photoAsks).set({ takenBackAt: now, takenBackBy: by }).where(and(eq(photoAsks.placeId, placeId), isNull(photoAsks.takenBackAt))).run();
};

/** Requests of a person whose care of the child ends, inside the act that ends it; what was decided stays the child's. */
export function endRequests(tx: Transaction, ref: ChildRef, personId: string, now: number): void {
  endPlace(tx, and(own(sessionPlaces, ref), eq(sessionPlaces.askedBy, personId), isNull(sessionPlaces.decision)), personId, now);
}
