import { handler, json, openHandler } from "@/lib/access/handler";
import { endingHere } from "@/lib/access/session";

/** How long this browser's sign-in has left, told without making it any longer. A browser without one has nothing left. */
export const GET = openHandler(async (request) => json(await endingHere(request.headers.get("x-person"), Date.now())));

/** Stays signed in: asking is using it. */
export const POST = handler("session.stay", async (granted, _request, _params, now) => json(await endingHere(granted.actor.personId, now)));
