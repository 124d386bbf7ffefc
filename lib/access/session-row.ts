import "server-only";
import { randomUUID } from "node:crypto";
import { and, eq, isNull, lt, sql } from "drizzle-orm";
import { database, isDatabaseFull, type Transaction } from "@/db/client";
import { prepared } from "@/db/prepared";
import { people, practices } from "@/db/schema/practice";
import { sessions } from "@/db/schema/sign-in";
import { isStaff, type Actor } from "@/lib/access/actor";
import { randomToken, tokenHash } from "@/lib/access/sealed";
import { appendAudit } from "@/lib/audit/append";
import { endingOf, type Ending } from "@/lib/domain/sign-in/ending";
import type { SignInDevice } from "@/lib/domain/sign-in/device";
import { ROLES, type Role } from "@/lib/domain/policy/policy";
import { DESK, isLocale, type Locale, type Reader } from "@/lib/domain/words/reader";

const HOUR_MS = 3_600_000;
const DAY_MS = 24 * HOUR_MS;
/** Writing on every read would be waste; a minute is small beside the shortest limit. */
const TOUCH_MS = 60_000;

/**
 * How long a session lives, in all and unused. Staff: NIST SP 800-63B-4, 2.2.3 (24 h, 1 h). Families
 * longer than its 2.1.3 asks, because a page kept for two weeks later must still open.
 */
export const limitsFor = (role: Role): { readonly wholeMs: number; readonly idleMs: number } =>
  isStaff(role) ? { wholeMs: DAY_MS, idleMs: HOUR_MS } : { wholeMs: 90 * DAY_MS, idleMs: 30 * DAY_MS };

/**
 * A new session with a new token; whoever signs in leaves the session the browser brought. Refuses staff
 * without a second factor shown just now, and anyone disabled: null.
 */
export function openSession(
  tx: Transaction,
  { personId, provedAt, replaces, language = null, device = null }: {
    readonly personId: string; readonly provedAt: number | null; readonly replaces: string | null;
    /** Chosen in this browser before it was known whose it is; kept for who has chosen none. */
    readonly language?: Locale | null;
    readonly device?: SignInDevice | null;
  },
  now: number,
): { readonly token: string; readonly role: Role } | null {
  const person = tx.select({ role: people.role, disabledAt: people.disabledAt }).from(people).where(eq(people.id, personId)).get();
  if (!person || person.disabledAt !== null || (isStaff(person.role) && provedAt === null)) return null;
  if (replaces) endSessionRow(tx, replaces, now);
  if (language && !isStaff(person.role)) tx.update(people).set({ language }).where(and(eq(people.id, personId), isNull(people.language))).run();
  const token = randomToken();
  const { wholeMs } = limitsFor(person.role);
  tx.insert(sessions).values({
    id: randomUUID(), tokenHash: tokenHash(token), personId, createdAt: now, lastSeenAt: now, endsAt: now + wholeMs, provedAt,
    browser: device?.browser ?? null, system: device?.system ?? null,
  }).run();
  appendAudit(tx, {
    at: now, actorId: personId, role: person.role, act: "signed-in", objectId: personId, familyId: null, outcome: "done",
    requestId: null, sessionHash: tokenHash(token),
  });
  return { token, role: person.role };
}

const openSessionRow = prepared((db) => db.select({
  sessionId: sessions.id, createdAt: sessions.createdAt, lastSeenAt: sessions.lastSeenAt, endsAt: sessions.endsAt,
  provedAt: sessions.provedAt, mailProvedAt: sessions.mailProvedAt, personId: people.id, practiceId: people.practiceId, role: people.role, name: people.name,
  ownZone: people.timeZone, zone: practices.timeZone, language: people.language,
}).from(sessions)
  .innerJoin(people, eq(people.id, sessions.personId))
  .innerJoin(practices, eq(practices.id, people.practiceId))
  .where(and(eq(sessions.tokenHash, sql.placeholder("hash")), isNull(sessions.endedAt), isNull(people.disabledAt))).prepare());

/**
 * Who the token belongs to at this moment; role, disabling and limits are read from the database each time. `asked` is
 * the browser's language, for who has not chosen one.
 */
export function actorOf(token: string, now: number, asked: Locale = "en"): Actor | null {
  const hash = tokenHash(token);
  const row = openSessionRow().get({ hash });
  if (!row || !(ROLES as readonly string[]).includes(row.role)) return null;
  const { wholeMs, idleMs } = limitsFor(row.role);
  // A guardian made staff keeps no session from before: it was opened without a second factor.
  if (isStaff(row.role) && row.provedAt === null) return null;
  if (now >= Math.min(row.endsAt, row.createdAt + wholeMs) || now >= row.lastSeenAt + idleMs) return null;
  if (now - row.lastSeenAt >= TOUCH_MS) {
    touch(row.sessionId, now);
  }
  return {
    personId: row.personId, practiceId: row.practiceId, role: row.role, name: row.name,
    timeZone: row.ownZone ?? row.zone, reader: readerOf(row, asked), sessionId: hash, provedAt: isStaff(row.role) ? row.provedAt : row.mailProvedAt, requestId: randomUUID(),
  };
}

/** Whose session it is and how long it has left, without using it; null when it is over. */
export function sessionEnding(token: string, now: number): { readonly personId: string; readonly ending: Ending } | null {
  const row = database().select({ createdAt: sessions.createdAt, lastSeenAt: sessions.lastSeenAt, endsAt: sessions.endsAt, provedAt: sessions.provedAt, personId: people.id, role: people.role })
    .from(sessions).innerJoin(people, eq(people.id, sessions.personId))
    .where(and(eq(sessions.tokenHash, tokenHash(token)), isNull(sessions.endedAt), isNull(people.disabledAt))).get();
  if (!row || (isStaff(row.role) && row.provedAt === null)) return null;
  const { wholeMs, idleMs } = limitsFor(row.role);
  const ending = endingOf({ idleEndsAt: row.lastSeenAt + idleMs, wholeEndsAt: Math.min(row.endsAt, row.createdAt + wholeMs) }, now);
  return ending.leftMs > 0 ? { personId: row.personId, ending } : null;
}

/** On a full disk the session ends a little earlier; what can be read is still read. */
function touch(sessionId: string, now: number): void {
  try {
    database().transaction((tx) => tx.update(sessions).set({ lastSeenAt: now }).where(and(eq(sessions.id, sessionId), lt(sessions.lastSeenAt, now))).run(), { behavior: "immediate" });
  } catch (error) {
    if (!isDatabaseFull(error)) throw error;
  }
}

/** How a person is spoken to. */
export const readerOf = ({ role, language }: { readonly role: Role; readonly language: Locale | null }, asked: Locale): Reader =>
  isStaff(role) ? DESK : { locale: isLocale(language) ? language : asked, voice: role === "young-person" ? "self" : "carer" };

/** Ends the session of this token, if it is open. */
export function endSessionRow(tx: Transaction, token: string, now: number): void {
  const ended = tx.update(sessions).set({ endedAt: now })
    .where(and(eq(sessions.tokenHash, tokenHash(token)), isNull(sessions.endedAt))).returning({ personId: sessions.personId }).get();
  if (!ended) return;
  appendAudit(tx, {
    at: now, actorId: ended.personId, role: null, act: "signed-out", objectId: ended.personId, familyId: null, outcome: "done",
    requestId: null, sessionHash: tokenHash(token),
  });
}

/** Ends every session of a person, inside the act that asks for it. */
export function endSessionsOf(tx: Transaction, personId: string, now: number): void {
  tx.update(sessions).set({ endedAt: now }).where(and(eq(sessions.personId, personId), isNull(sessions.endedAt))).run();
}
