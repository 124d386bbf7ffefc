import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { patternOf } from "@/lib/domain/curve/record";
import { createSession, sessionOf, type GroupSession } from "@/lib/records/group-sessions";
import { makeSessionInvitation, sessionInvitationOf } from "@/lib/records/session-invitations";
import { askForPhotos, childrenIn, type SessionChild } from "@/lib/records/session-photos";
import { takeIn } from "@/lib/records/session-places";
import { RECORD } from "@/tests/domain/curve-record-scene";
import { EXERCISE, NOW } from "@/tests/records/answering-scene";
import { done } from "@/tests/records/desk-scene";

export const PATTERN = patternOf(RECORD).key;
/** Friday 6 March 2026, 17:30 in London: two days after NOW. */
export const WHEN = { day: "2026-03-06", time: "17:30", howToJoin: "Call https://call.example/room" };
export const STARTS = Date.UTC(2026, 2, 6, 17, 30);

export const writing = (who: Actor, once: string | null = null) => grant(who, "sessions.write", null, once);
export const reading = (who: Actor) => grant(who, "sessions.read", null);

/** A session for the pattern of the scene's children. */
export async function plan(who: Actor, change: Partial<typeof WHEN & { readonly patternKey: string }> = {}, now = NOW): Promise<string> {
  return done(await createSession(await writing(who), { exerciseKey: EXERCISE, patternKey: PATTERN, ...WHEN, ...change }, now)).sessionId;
}

/** The key in its invitation's address. */
export async function inviteTo(who: Actor, sessionId: string, now = NOW, days = 7): Promise<string> {
  done(await makeSessionInvitation(await writing(who), { sessionId, days }, now));
  const address = (await sessionInvitationOf(await reading(who), sessionId, now))?.address ?? "";
  return new URL(address).searchParams.get("key") ?? "";
}

export async function sessionAt(who: Actor, sessionId: string, now = NOW): Promise<GroupSession> {
  const session = await sessionOf(await reading(who), sessionId, now);
  if (!session) throw new Error("no such session");
  return session;
}

export const rowsAt = async (who: Actor, sessionId: string, now = NOW): Promise<readonly SessionChild[]> => childrenIn(await reading(who), await sessionAt(who, sessionId, now), now);

/** Takes children in, and asks for a photo of each by a day. */
export async function askOf(who: Actor, sessionId: string, childIds: readonly string[], dueOn = "2026-03-11", now = NOW): Promise<void> {
  for (const careOf of childIds) done(await takeIn(await writing(who), { sessionId, careOf }, now));
  const placeIds = (await rowsAt(who, sessionId, now)).map((row) => row.placeId);
  done(await askForPhotos(await writing(who), { sessionId, placeIds, dueOn }, now));
}
