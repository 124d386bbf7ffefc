import "server-only";
import { and, desc, eq, gt, isNull, ne } from "drizzle-orm";
import { database, type Transaction } from "@/db/client";
import { sessions } from "@/db/schema/sign-in";
import type { SelfGrant } from "@/lib/access/grant";
import { limitsFor } from "@/lib/access/session-row";
import { BROWSERS, SYSTEMS, type SignInDevice } from "@/lib/domain/sign-in/device";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { forgetPhone, phoneIdsOf } from "@/lib/notices/phones";
import { act } from "@/lib/records/act";

/** One browser in which a person is signed in. Instants UTC ms, the last use to the minute. */
export type SignIn = SignInDevice & { readonly signInId: string; readonly createdAt: number; readonly lastSeenAt: number; readonly isThis: boolean };

/** Where the person is signed in now, the one that asks first, then by last use. */
export async function signInsOf(grant: SelfGrant<"sign-ins.read">, now: number): Promise<readonly SignIn[]> {
  const { personId, role, sessionId } = grant.actor;
  const { wholeMs, idleMs } = limitsFor(role);
  const rows = database().select().from(sessions).where(and(
    eq(sessions.personId, personId), isNull(sessions.endedAt), gt(sessions.endsAt, now), gt(sessions.createdAt, now - wholeMs), gt(sessions.lastSeenAt, now - idleMs),
  )).orderBy(desc(sessions.lastSeenAt)).all();
  return rows.map(({ id, tokenHash, createdAt, lastSeenAt, browser, system }) => ({
    signInId: id, createdAt, lastSeenAt, isThis: tokenHash === sessionId,
    browser: BROWSERS.find((known) => known === browser) ?? "other", system: SYSTEMS.find((known) => known === system) ?? "other",
  })).sort((one, other) => Number(other.isThis) - Number(one.isThis));
}

/** Ends one of one's own; the one that asks ends by signing out. */
export async function endSignIn(grant: SelfGrant<"sign-ins.end">, signInId: string, now: number): Promise<Result<null>> {
  return act(grant, "sign-in.ended", now, (tx) => {
    const ended = end(tx, grant, eq(sessions.id, signInId), now);
    return ended === 0 ? refuse("stale-version") : ok({ objectId: signInId, value: null });
  });
}

/** Leaves the one that asks, and of all pushes those to `phoneId`, which is this browser. */
export async function endOtherSignIns(grant: SelfGrant<"sign-ins.end">, phoneId: string | null, now: number): Promise<Result<null>> {
  return act(grant, "sign-ins.ended", now, (tx) => {
    end(tx, grant, undefined, now);
    for (const other of phoneIdsOf(tx, grant.actor.personId)) if (other !== phoneId) forgetPhone(tx, other);
    return ok({ objectId: grant.actor.personId, value: null });
  });
}

const end = (tx: Transaction, { actor }: SelfGrant<"sign-ins.end">, which: ReturnType<typeof eq> | undefined, now: number): number =>
  tx.update(sessions).set({ endedAt: now })
    .where(and(eq(sessions.personId, actor.personId), ne(sessions.tokenHash, actor.sessionId), isNull(sessions.endedAt), which)).run().changes;
