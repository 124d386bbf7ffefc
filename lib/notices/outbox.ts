import "server-only";
import { and, asc, eq, inArray, isNotNull, isNull, lte, ne, type SQL } from "drizzle-orm";
import { z } from "zod";
import { database, type Database, type Transaction } from "@/db/client";
import { notices } from "@/db/schema/machinery";
import { people, practices } from "@/db/schema/practice";
import { noticeChoices, pushPhones } from "@/db/schema/reach";
import { isStaff } from "@/lib/access/actor";
import { unseal } from "@/lib/access/sealed";
import { readerOf } from "@/lib/access/session-row";
import { CODE_LIFE_MS } from "@/lib/access/mailed-code";
import { choiceFor, choiceKey, hasOwnWords, isCode } from "@/lib/domain/notices/kinds";
import { urgencyOf } from "@/lib/domain/notices/push";
import { quietEnd } from "@/lib/domain/notices/quiet-hours";
import { runEvery } from "@/lib/jobs/run-every";
import { compose, type Mail } from "@/lib/notices/compose";
import { forgetPhone } from "@/lib/notices/phones";
import { PushRefused, sendPush, type Push } from "@/lib/notices/push";
import { sendMail } from "@/lib/notices/send";

const LOOK_MS = 1_000;
/** More than there are kinds, so that one person with news of every kind keeps nobody waiting for another look. */
const AT_ONCE = 40;
/** Whoever claims a notice has this long; after a crash it is sent again. */
const CLAIM_MS = 2 * 60_000;
const MAX_TRIES = 16;
/** 15 s, 30 s, 1 min … up to four hours: over a day in all. */
const pauseAfter = (tries: number): number => Math.min(15_000 * 2 ** (tries - 1), 4 * 3_600_000);

type Send = (mail: Mail, now: number) => Promise<void>;
type SendPush = (push: Push) => Promise<void>;
export type Delivered = { readonly sent: number; readonly failed: number; readonly gaveUp: number };
type Count = { -readonly [K in keyof Delivered]: number };

/**
 * Mails what is due, oldest first, each at least once: claimed, sent, then marked. What waits for one
 * person leaves as one mail. A failure is tried again later and later, and given up after sixteen tries,
 * or when the code in it has run out.
 */
export async function deliverNotices(db: Database, now: number, send: Send = sendMail): Promise<Delivered> {
  const count: Count = { sent: 0, failed: 0, gaveUp: 0 };
  for (const id of due(db, isNull(notices.phoneId), now)) await deliver(db, id, now, count, (claimed) => send(compose(claimed), now));
  return count;
}

/**
 * Pushes what is due in the same way, each phone by itself and all at once: a service that does not answer
 * holds back no mail and no other phone. A phone that its service says is no more is forgotten.
 */
export async function deliverPushes(db: Database, now: number, send: SendPush = sendPush): Promise<Delivered> {
  const count: Count = { sent: 0, failed: 0, gaveUp: 0 };
  await Promise.all(due(db, isNotNull(notices.phoneId), now).map((id) => deliver(db, id, now, count, (claimed) =>
    send({ sealedAddress: claimed.sealedAddress ?? "", isStaff: claimed.isStaff, reader: claimed.reader, urgency: urgencyOf(claimed.kinds) }))));
  return count;
}

async function deliver(db: Database, id: string, now: number, count: Count, send: (claimed: NonNullable<ReturnType<typeof claim>>) => Promise<void>): Promise<void> {
  const claimed = claim(db, id, now);
  if (!claimed) return;
  const giveUp = (): void => {
    settle(db, claimed.ids, { gaveUpAt: now, sealedValues: null });
    count.gaveUp += 1;
  };
  if (claimed.isOver) return giveUp();
  try {
    await send(claimed);
    settle(db, claimed.ids, { sentAt: now, sealedValues: null });
    count.sent += 1;
  } catch (error) {
    note(claimed.kind, claimed.tries, error);
    const { isOver, afterMs } = error instanceof PushRefused ? error : { isOver: false, afterMs: 0 };
    if (isOver && claimed.phoneId !== null) forgetPhone(db, claimed.phoneId);
    if (isOver || claimed.tries >= MAX_TRIES) return giveUp();
    settle(db, claimed.ids, { nextTryAt: now + Math.max(pauseAfter(claimed.tries), afterMs) });
    count.failed += 1;
  }
}

const waiting = (now: number) => and(isNull(notices.sentAt), isNull(notices.gaveUpAt), lte(notices.nextTryAt, now));

function due(db: Database, channel: SQL, now: number): readonly string[] {
  return db.select({ id: notices.id }).from(notices).where(and(channel, waiting(now))).orderBy(asc(notices.createdAt)).limit(AT_ONCE).all().map(({ id }) => id);
}

const Values = z.object({ code: z.string().optional(), key: z.string().optional(), to: z.string().optional() });

/**
 * Takes one notice for this process, with all that leaves in the same message; null when another took it
 * first, when it waits for the end of quiet hours, or when the person switched its kind off.
 */
function claim(db: Database, id: string, now: number) {
  return db.transaction((tx) => {
    const row = tx.select({
      id: notices.id, kind: notices.kind, tries: notices.tries, sealed: notices.sealedValues, createdAt: notices.createdAt, nextTryAt: notices.nextTryAt,
      phoneId: notices.phoneId, sealedAddress: pushPhones.sealedAddress,
      personId: people.id, to: people.email, disabledAt: people.disabledAt, quietFrom: people.quietFrom, quietUntil: people.quietUntil,
      role: people.role, language: people.language, ownZone: people.timeZone, zone: practices.timeZone,
    }).from(notices).innerJoin(people, eq(people.id, notices.personId)).innerJoin(practices, eq(practices.id, people.practiceId))
      .leftJoin(pushPhones, eq(pushPhones.id, notices.phoneId))
      .where(and(eq(notices.id, id), waiting(now))).get();
    if (!row) return null;
    const choice = choiceFor(row.kind);
    if (choice && isOff(tx, row.personId, choiceKey(choice, row.phoneId === null ? "mail" : "push"))) {
      settle(tx, [id], { gaveUpAt: now });
      return null;
    }
    const quietUntil = choice && quietEndFor(row, now);
    if (quietUntil) {
      settle(tx, [id], { nextTryAt: quietUntil });
      return null;
    }
    const together = hasOwnWords(row.kind) ? [row] : [row, ...sameMessage(tx, row, now)];
    const ids = together.map((each) => each.id);
    const tries = row.tries + 1;
    settle(tx, ids, { tries, nextTryAt: now + CLAIM_MS });
    const opened = row.sealed === null ? "{}" : unseal("notice", row.sealed);
    const isOver = row.disabledAt !== null || opened === null || (isCode(row.kind) && now >= row.createdAt + CODE_LIFE_MS);
    const { code, key, to: elsewhere } = Values.parse(JSON.parse(opened ?? "{}"));
    const values = { ...(code === undefined ? {} : { code }), ...(key === undefined ? {} : { key }) };
    const { kind, phoneId, sealedAddress, personId } = row;
    const to = elsewhere ?? row.to;
    return { id, ids, kind, kinds: together.map((each) => each.kind), phoneId, sealedAddress, isStaff: isStaff(row.role), personId, to, tries, isOver, values, reader: readerOf(row, "en") };
  }, { behavior: "immediate" });
}

function isOff(tx: Transaction, personId: string, key: string): boolean {
  return tx.select({ isOn: noticeChoices.isOn }).from(noticeChoices)
    .where(and(eq(noticeChoices.personId, personId), eq(noticeChoices.kind, key))).get()?.isOn === false;
}

function quietEndFor(person: { readonly quietFrom: number | null; readonly quietUntil: number | null; readonly ownZone: string | null; readonly zone: string }, now: number): number | null {
  const { quietFrom: from, quietUntil: until } = person;
  return from === null || until === null || from === until ? null : quietEnd(now, person.ownZone ?? person.zone, { from, until });
}

type First = { readonly id: string; readonly personId: string; readonly phoneId: string | null; readonly tries: number; readonly nextTryAt: number };

/**
 * What else waits for this person in the same place and reads the same. Those tried together stay together and
 * nothing joins them, so that a mail sent twice is the same mail: a mailbox that drops the second by its id loses nothing.
 */
function sameMessage(tx: Transaction, first: First, now: number): readonly { readonly id: string; readonly kind: string }[] {
  return tx.select({ id: notices.id, kind: notices.kind }).from(notices)
    .where(and(
      eq(notices.personId, first.personId), ne(notices.id, first.id), eq(notices.tries, first.tries), waiting(now),
      first.phoneId === null ? isNull(notices.phoneId) : eq(notices.phoneId, first.phoneId),
      first.tries === 0 ? undefined : eq(notices.nextTryAt, first.nextTryAt),
    )).all().filter(({ kind }) => !hasOwnWords(kind));
}

function settle(db: Database | Transaction, ids: readonly string[], set: Partial<typeof notices.$inferInsert>): void {
  db.update(notices).set(set).where(inArray(notices.id, [...ids])).run();
}

/** One line without an address or a word of the mail. */
function note(kind: string, tries: number, error: unknown): void {
  const code = typeof error === "object" && error !== null && "code" in error ? String(error.code) : "unknown";
  process.stderr.write(`${JSON.stringify({ at: new Date().toISOString(), event: "notice-failed", kind, tries, code })}\n`);
}

/** Looks for due mails and pushes every second, each by itself. */
export function startOutbox(): void {
  runEvery("outbox", LOOK_MS, (now) => deliverNotices(database(), now));
  runEvery("push", LOOK_MS, (now) => deliverPushes(database(), now));
}
