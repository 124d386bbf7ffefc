import "server-only";
import { headers } from "next/headers";
import { redirect } from "next/navigation";
import { cache } from "react";
import { database } from "@/db/client";
import type { Actor } from "@/lib/access/actor";
import { unwrapToken, wrapToken } from "@/lib/access/auth-options";
import { clearCookie, readCookie, setCookie } from "@/lib/access/cookies";
import { localeAsked, strangerReader } from "@/lib/access/reader";
import { actorOf, endSessionRow, limitsFor, openSession, sessionEnding } from "@/lib/access/session-row";
import { signInDeviceOf } from "@/lib/domain/sign-in/device";
import type { Ending } from "@/lib/domain/sign-in/ending";
import { isLocale, type Reader } from "@/lib/domain/words/reader";
import { forgetPhone, forgetPhoneOfOthers } from "@/lib/notices/phones";

/** Who the request's session belongs to, checked in the database on every request; null for a stranger. */
export const currentActor = cache(async (): Promise<Actor | null> => {
  const token = await currentToken();
  return token === null ? null : actorOf(token, Date.now(), await localeAsked());
});

/** Who reads this request's page, known or not. */
export const readerNow = async (): Promise<Reader> => (await currentActor())?.reader ?? strangerReader();

/** How long this browser's sign-in has left, asked without using it. `personId` is who a page was made for: another's sign-in is told apart. */
export async function endingHere(personId: string | null, now: number): Promise<Ending> {
  const token = await currentToken();
  const open = token === null ? null : sessionEnding(token, now);
  if (!open) return { leftMs: 0, mayStay: false };
  return personId !== null && personId !== open.personId ? { leftMs: 0, mayStay: false, isOther: true } : open.ending;
}

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
  const [replaces, chosen] = [await currentToken(), await readCookie("language")];
  const language = isLocale(chosen) ? chosen : null;
  const device = signInDeviceOf((await headers()).get("user-agent") ?? "");
  const opened = database().transaction((tx) => openSession(tx, { personId, provedAt, replaces, language, device }, now), { behavior: "immediate" });
  if (!opened) return false;
  const phone = await readCookie("phone");
  if (phone && database().transaction((tx) => forgetPhoneOfOthers(tx, phone, personId), { behavior: "immediate" })) await clearCookie("phone");
  const { wholeMs } = limitsFor(opened.role);
  await setCookie("session-token", await wrapToken(opened.token, wholeMs), wholeMs);
  await clearCookie("second-step");
  await clearCookie("asked");
  return true;
}

/** Ends this browser's session in the database, not only its cookie, and what was pushed to it. */
export async function endSession(now: number): Promise<void> {
  const [token, phone] = [await currentToken(), await readCookie("phone")];
  if (phone) forgetPhone(database(), phone);
  if (token !== null) database().transaction((tx) => endSessionRow(tx, token, now), { behavior: "immediate" });
  for (const kind of ["session-token", "second-step", "asked", "phone", "recovery-codes"] as const) await clearCookie(kind);
}

async function currentToken(): Promise<string | null> {
  const cookie = await readCookie("session-token");
  return cookie ? unwrapToken(cookie) : null;
}
