"use server";

import { z } from "zod";
import { action } from "@/lib/access/action";
import { ok, type Result } from "@/lib/domain/result";
import { CLOCK } from "@/lib/domain/time/spans";
import { LocalDateSchema } from "@/lib/domain/time/working-week.schema";
import { changeSession, closeSession, createSession, reopenSession } from "@/lib/records/group-sessions";
import { INVITATION_DAYS, makeSessionInvitation, revokeSessionInvitation } from "@/lib/records/session-invitations";
import { askForPhotos, remindOfSession, takeBackAsk } from "@/lib/records/session-photos";
import { decidePlace, takeIn, takeOut } from "@/lib/records/session-places";

const id = z.string().max(60);
const When = { day: LocalDateSchema, time: z.string().regex(CLOCK).refine((time) => time !== "24:00"), howToJoin: z.string().max(600) };
/** An exercise and a pattern, as the choice of a new session names them. */
const Taught = z.string().max(300).regex(/^\S+ \S+$/).transform((both) => {
  const [exerciseKey = "", patternKey = ""] = both.split(" ");
  return { exerciseKey, patternKey };
});
const several = z.union([id.transform((one) => [one]), z.array(id).max(200)]).default([]);

/** Back to the session's own page. */
const backTo = (sessionId: string, done: Result<null>) => (done.ok ? ok({ goTo: `/desk/sessions/${sessionId}` }) : done);

export const createSessionAction = action("sessions.write", z.strictObject({ taught: Taught, ...When }), async (granted, { taught, ...when }, now) => {
  const created = await createSession(granted, { ...taught, ...when }, now);
  return created.ok ? ok({ goTo: `/desk/sessions/${created.value.sessionId}` }) : created;
});

export const changeSessionAction = action("sessions.write", z.strictObject({ sessionId: id, version: z.coerce.number().int(), ...When }), async (granted, input, now) =>
  backTo(input.sessionId, await changeSession(granted, input, now)));

export const closeSessionAction = action("sessions.write", z.strictObject({ sessionId: id }), async (granted, { sessionId }, now) =>
  backTo(sessionId, await closeSession(granted, sessionId, now)));

export const reopenSessionAction = action("sessions.write", z.strictObject({ sessionId: id }), async (granted, { sessionId }, now) =>
  backTo(sessionId, await reopenSession(granted, sessionId, now)));

const days = z.coerce.number().refine((n) => INVITATION_DAYS.some((each) => each === n));
export const makeInvitationAction = action("sessions.write", z.strictObject({ sessionId: id, days }), async (granted, input, now) =>
  backTo(input.sessionId, await makeSessionInvitation(granted, input, now)));

export const revokeInvitationAction = action("sessions.write", z.strictObject({ sessionId: id, invitationId: id }), async (granted, input, now) =>
  backTo(input.sessionId, await revokeSessionInvitation(granted, input, now)));

const decided = z.enum(["taken-in", "declined"]);
export const decidePlaceAction = action(
  "sessions.write",
  z.strictObject({ sessionId: id, placeId: id, decision: decided, seen: z.union([decided, z.literal("").transform(() => null)]) }),
  async (granted, { sessionId, ...input }, now) => backTo(sessionId, await decidePlace(granted, input, now)),
);

export const takeInAction = action("sessions.write", z.strictObject({ sessionId: id, careOf: id.min(1) }), async (granted, input, now) =>
  backTo(input.sessionId, await takeIn(granted, input, now)));

export const takeOutAction = action("sessions.write", z.strictObject({ sessionId: id, placeId: id }), async (granted, { sessionId, placeId }, now) =>
  backTo(sessionId, await takeOut(granted, placeId, now)));

export const askForPhotosAction = action("sessions.write", z.strictObject({ sessionId: id, placeIds: several, dueOn: LocalDateSchema }), async (granted, input, now) =>
  backTo(input.sessionId, await askForPhotos(granted, input, now)));

export const takeBackAskAction = action("sessions.write", z.strictObject({ sessionId: id, askId: id }), async (granted, { sessionId, askId }, now) =>
  backTo(sessionId, await takeBackAsk(granted, askId, now)));

export const remindOfSessionAction = action("sessions.write", z.strictObject({ sessionId: id }), async (granted, { sessionId }, now) =>
  backTo(sessionId, await remindOfSession(granted, sessionId, now)));
