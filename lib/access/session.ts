import "server-only";
import { redirect } from "next/navigation";
import { cache } from "react";
import { database } from "@/db/client";
import type { Actor } from "@/lib/access/actor";
import { unwrapToken, wrapToken } from "@/lib/access/auth-options";
import { clearCookie, readCookie, setCookie } from "@/lib/access/cookies";
import { actorOf, endSessionRow, limitsFor, openSession } from "@/lib/access/session-row";

/** Who the request's session belongs to, checked in the database on every request; null for a stranger. */
export const currentActor = cache(async (): Promise<Actor | null> => {
  const token = await currentToken();
  return token === null ? null : actorOf(token, Date.now());
});

/** The person, or the way to the sign-in page. */
export async function signedIn(): Promise<Actor> {
  const actor = await currentActor();
  if (!actor) redirect("/sign-in");
  return actor;
}

/**
 * Signs a person in with a new session and a new token, and ends the one the browser brought. False
 * when they may not: disabled, or staff who have shown no second factor.
 */
export async function startSession(personId: string, provedAt: number | null, now: number): Promise<boolean> {
  const replaces = await currentToken();
  const opened = database().transaction((tx) => openSession(tx, { personId, provedAt, replaces }, now), { behavior: "immediate" });
  if (!opened) return false;
  const { wholeMs } = limitsFor(opened.role);
  await setCookie("session-token", await wrapToken(opened.token, wholeMs), wholeMs);
  await clearCookie("second-step");
  await clearCookie("asked");
  return true;
}

/** Ends this browser's session in the database, not only its cookie. */
export async function endSession(now: number): Promise<void> {
  const token = await currentToken();
  if (token !== null) database().transaction((tx) => endSessionRow(tx, token, now), { behavior: "immediate" });
  for (const kind of ["session-token", "second-step", "asked"] as const) await clearCookie(kind);
}

async function currentToken(): Promise<string | null> {
  const cookie = await readCookie("session-token");
  return cookie ? unwrapToken(cookie) : null;
}
