import "server-only";
import { randomUUID } from "node:crypto";
import { isHTTPAccessFallbackError } from "next/dist/client/components/http-access-fallback/http-access-fallback";
import type { Actor } from "@/lib/access/actor";
import { grant, type GrantOf } from "@/lib/access/grant";
import { isOwnOrigin } from "@/lib/access/origin";
import { currentActor } from "@/lib/access/session";
import { POLICY, type Ability } from "@/lib/domain/policy/policy";
import type { Problem } from "@/lib/domain/result";

type Params = Readonly<Record<string, string>>;
type Context = { readonly params: Promise<Params> };
type RouteHandler = (request: Request, context: Context) => Promise<Response>;

/** What every answer of a machine route says besides its own headers. */
const PRIVATE = { "Cache-Control": "private, no-store", "X-Content-Type-Options": "nosniff" };

export const json = (body: unknown, status = 200, headers: Record<string, string> = {}): Response =>
  Response.json(body, { status, headers: { ...PRIVATE, ...headers } });

/** A problem as a machine-readable answer; the screen that asked has the words. */
export const problemResponse = (problem: Problem, status = 422): Response =>
  json({ problem }, status, problem.code === "photo-queue-full" ? { "Retry-After": String(problem.values?.["seconds"] ?? 5) } : {});

/**
 * The only maker of route handlers that know somebody. The path names `childId` or `familyId` as the
 * ability's scope asks. Not signed in is 401; not there and not theirs are the same 404; a changing
 * request from elsewhere is 403 before anything is read.
 */
export function handler<A extends Ability>(
  ability: A,
  run: (granted: GrantOf<A>, request: Request, params: Params, now: number) => Promise<Response>,
): RouteHandler {
  return async (request, context) => {
    if (changes(request) && !isOwnOrigin(request.headers)) return json({ error: "foreign-origin" }, 403);
    const actor = await currentActor();
    if (!actor) return json({ error: "signed-out" }, 401);
    const params = await context.params;
    const granted = await granting(actor, ability, params, request.headers.get("idempotency-key"));
    if (!granted) return json({ error: "not-found" }, 404);
    return run(granted, request, params, Date.now());
  };
}

/** For the few routes that must answer strangers: health, and what signing in needs. */
export function openHandler(run: (request: Request, params: Params) => Promise<Response>): RouteHandler {
  return async (request, context) => {
    if (changes(request) && !isOwnOrigin(request.headers)) return json({ error: "foreign-origin" }, 403);
    return run(request, await context.params);
  };
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
