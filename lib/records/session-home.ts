import "server-only";
import { and, asc, eq, isNull, sql } from "drizzle-orm";
import { OF_CHILD, prepared } from "@/db/prepared";
import { groupSessions, photoAsks, sessionPlaces } from "@/db/schema/sessions";
import type { ChildGrant } from "@/lib/access/grant";
import { heldBack, type HeldBack } from "@/lib/domain/notices/again";
import { isOwed } from "@/lib/domain/sessions/asked-photo";
import { isSpokenOf, stageOf, type PlaceDecision, type SessionStage } from "@/lib/domain/sessions/group-session";
import { endOfLocalDay } from "@/lib/domain/time/local";
import { readCalendar } from "@/lib/records/calendar";
import { own } from "@/lib/records/child-facts";
import { readFit } from "@/lib/records/session-fit";
import { namedExercise, type NamedExercise } from "@/lib/records/session-places";
import { readAsked } from "@/lib/records/session-photos";
import { standingFor } from "@/lib/records/standing";

/** A group session as the people of one child read it; nothing in it speaks of any other family. */
export type OwnSession = {
  readonly placeId: string;
  readonly startsAt: number;
  readonly stage: SessionStage;
  readonly decision: PlaceDecision;
  /** Named only while the child is taken in and the session fits. */
  readonly exercise: NamedExercise | null;
  /** Empty once it is over. */
  readonly howToJoin: string;
  /** It was held; only its photo is still spoken of. */
  readonly isOver: boolean;
  /** The child's record has changed since, so that the session is no longer theirs. */
  readonly isMisfit: boolean;
  readonly photo: OwnAsk | null;
};

export type OwnAsk = {
  readonly exerciseKey: string;
  /** The end of the due day. */
  readonly dueAt: number;
  readonly isLate: boolean;
  /** `sent` waits for its answer. */
  readonly state: "owed" | "sent";
  readonly heldBack: HeldBack | null;
};

const placesOf = prepared((db) => db.select({
  placeId: sessionPlaces.id, decision: sessionPlaces.decision, exerciseKey: groupSessions.exerciseKey, patternKey: groupSessions.patternKey,
  startsAt: groupSessions.startsAt, closedAt: groupSessions.closedAt, howToJoin: groupSessions.howToJoin, askedAt: photoAsks.askedAt, dueOn: photoAsks.dueOn,
}).from(sessionPlaces).innerJoin(groupSessions, and(eq(groupSessions.id, sessionPlaces.sessionId), eq(groupSessions.practiceId, sql.placeholder("practiceId"))))
  .leftJoin(photoAsks, and(eq(photoAsks.placeId, sessionPlaces.id), isNull(photoAsks.takenBackAt)))
  .where(and(own(sessionPlaces, OF_CHILD), isNull(sessionPlaces.endedAt))).orderBy(asc(groupSessions.startsAt)).prepare());

/** What is still to be said of a child's group sessions, the next one first. */
export async function ownSessions(grant: ChildGrant<"child.read">, now: number): Promise<readonly OwnSession[]> {
  const { practiceId, childId, familyId } = grant;
  return placesOf().all({ practiceId, childId, familyId }).flatMap(({ placeId, decision, exerciseKey, patternKey, startsAt, closedAt, howToJoin, askedAt, dueOn }): OwnSession[] => {
    const standing = standingFor(grant.practiceId, grant, exerciseKey, now, grant.actor.reader.locale);
    const isFit = readFit(grant.practiceId, grant, { exerciseKey, patternKey }, now) === "fits";
    const isTakenIn = decision === "taken-in" && isFit;
    const asked = isTakenIn && closedAt === null && askedAt !== null && dueOn !== null ? { askedAt, dueOn } : null;
    const held = heldBack({ photoConsent: standing.photoConsent, goAhead: standing.overall });
    const photo = asked && photoOf(grant, { exerciseKey, ...asked }, held, now);
    const isOver = !isSpokenOf({ startsAt, closedAt }, decision, now);
    if (!photo && isOver) return [];
    return [{
      placeId, startsAt, stage: stageOf({ startsAt, closedAt }, now), decision, isMisfit: decision === "taken-in" && !isFit, photo, isOver,
      exercise: isTakenIn ? namedExercise(standing.names) : null, howToJoin: isTakenIn && !isOver ? howToJoin : "",
    }];
  });
}

/** Null once it was answered: the card of the exercise says what comes next. */
function photoOf(grant: ChildGrant<"child.read">, ask: { readonly exerciseKey: string; readonly askedAt: number; readonly dueOn: string }, held: HeldBack | null, now: number): OwnAsk | null {
  const { state, isLate } = readAsked(grant.practiceId, grant, ask, now);
  if (!isOwed(state) && state !== "sent") return null;
  return { exerciseKey: ask.exerciseKey, dueAt: endOfLocalDay(ask.dueOn, readCalendar(grant.practiceId).zone), isLate, state: state === "sent" ? "sent" : "owed", heldBack: held };
}
