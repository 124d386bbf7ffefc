import "server-only";
import { randomUUID } from "node:crypto";
import { isHTTPAccessFallbackError } from "next/dist/client/components/http-access-fallback/http-access-fallback";
import type { Actor } from "@/lib/access/actor";
import { grant, type GrantOf } from "@/lib/access/grant";
import { isOwnOrigin } from "@/lib/access/origin";
import { currentActor } from "@/lib/access/session";
import { isProofEnough, POLICY, type Ability } from "@/lib/domain/policy/policy";
import { refuse, type Problem } from "@/lib/domain/result";
import { storageRefusal } from "@/lib/media/space";

type Params = Readonly<Record<string, string>>;
type Context = { readonly params: Promise<Params> };
type RouteHandler = (request: Request, context: Context) => Promise<Response>;

/** What every answer of a machine route says besides its own headers. */
const PRIVATE = { "Cache-Control": "private, no-store", "X-Content-Type-Options": "nosniff" };

export const json = (body: unknown, status = 200, headers: Record<string, string> = {}): Response =>
  Response.json(body, { status, headers: { ...PRIVATE, ...headers } });

/** 507, RFC 4918: a phone that waits to send keeps what it has and comes again. */
const NO_ROOM: readonly string[] = ["disk-full", "storage-full", "voice-disk-full", "moment-disk-full"];

/** A bucket that does not answer is back in minutes or hours; the phone tries on by itself. */
const AWAY_SECONDS = 30;

/** Refused whatever else is right, until a guardian decides otherwise. */
const WITHOUT_CONSENT: readonly string[] = ["consent-missing", "consent-withdrawn"];

/** A problem as a machine-readable answer; the screen that asked has the words. */
export const problemResponse = (problem: Problem, status = 422): Response =>
  problem.code.endsWith("-queue-full") || problem.code === "storage-away"
    ? json({ problem }, 503, { "Retry-After": String(problem.values?.["seconds"] ?? (problem.code === "storage-away" ? AWAY_SECONDS : 5)) })
    : json({ problem }, WITHOUT_CONSENT.includes(problem.code) ? 403 : NO_ROOM.includes(problem.code) ? 507 : status);

function answeredWithoutStorage(error: unknown): Response {
  const code = storageRefusal(error);
  if (code) return problemResponse(refuse(code).problem);
  throw error;
}

/**
 * The only maker of route handlers that know somebody. The path names `childId` or `familyId` as the
 * ability's scope asks. Not signed in is 401; not there and not theirs are the same 404; a changing
 * request from elsewhere is 403 before anything is read; one that names its person in `X-Person` and
 * comes in somebody else's session is 409.
 */
export function handler<A extends Ability>(
  ability: A,
  run: (granted: GrantOf<A>, request: Request, params: Params, now: number) => Promise<Response>,
): RouteHandler {
  return async (request, context) => {
    if (changes(request) && !isOwnOrigin(request.headers)) return json({ error: "foreign-origin" }, 403);
    const actor = await currentActor();
    if (!actor) return json({ error: "signed-out" }, 401);
    // What a phone kept for one person is never taken from another who signed in there meanwhile.
    const madeBy = request.headers.get("x-person");
    if (madeBy !== null && madeBy !== actor.personId) return json({ error: "other-person" }, 409);
    const params = await context.params;
    const granted = await granting(actor, ability, params, request.headers.get("idempotency-key"));
    if (!granted) return json({ error: "not-found" }, 404);
    if (!isProofEnough(actor.provedAt, ability, Date.now())) return json({ error: "proof-old" }, 403);
    return run(granted, request, params, Date.now()).catch(answeredWithoutStorage);
  };
}

/** For the few routes that must answer strangers: health, and what signing in needs. */
export function openHandler(run: (request: Request, params: Params) => Promise<Response>): RouteHandler {
  return async (request, context) => {
    if (changes(request) && !isOwnOrigin(request.headers)) return json({ error: "foreign-origin" }, 403);
    return run(request, await context.params);
  };
}

/**
 * For the one request that a mail program's server sends (RFC 8058): it has neither our origin nor a
 * cookie, so the sealed key in its address is its whole proof, and no session is ever read. What brings
 * either is a browser, and passes from our own pages only; the body must be the standard's own word.
 */
export function oneClickHandler(run: (key: string, now: number) => Promise<boolean>): RouteHandler {
  return async (request) => {
    const isBrowser = request.headers.has("origin") || request.headers.has("cookie");
    if (isBrowser && !isOwnOrigin(request.headers)) return json({ error: "foreign-origin" }, 403);
    const isForm = /^(?:application\/x-www-form-urlencoded|multipart\/form-data)\b/i.test(request.headers.get("content-type") ?? "");
    const said = isForm ? (await request.formData().catch(() => null))?.get("List-Unsubscribe") : null;
    const isDone = said === "One-Click" && (await run(new URL(request.url).searchParams.get("key") ?? "", Date.now()));
    return json({ isDone }, isDone ? 200 : 400);
  };
}

/**
 * For what a phone's share sheet posts where no worker of ours answers it. It brings no origin of ours,
 * so nothing of it is read, neither body nor session, and nothing changes: it leads to a page.
 */
export function unreadHandler(to: string): RouteHandler {
  return async () => new Response(null, { status: 303, headers: { ...PRIVATE, Location: to } });
}

export const newRequestId = (): string => randomUUID();

const changes = (request: Request): boolean => request.method !== "GET" && request.method !== "HEAD";

const ONCE = /^[0-9a-f-]{36}$/;

async function granting<A extends Ability>(actor: Actor, ability: A, params: Params, key: string | null): Promise<GrantOf<A> | null> {
  const scope = POLICY[ability].scope;
  const id = scope === "child" ? params["childId"] : scope === "family" ? params["familyId"] : null;
  try {
    return await grant(actor, ability, id ?? null, key !== null && ONCE.test(key) ? key : null);
  } catch (error) {
    // A page turns this into the not-found page; a machine gets the plain status.
    if (isHTTPAccessFallbackError(error)) return null;
    throw error;
  }
}
