import "server-only";
import { and, asc, eq, isNull, lte } from "drizzle-orm";
import { z } from "zod";
import { database, type Database } from "@/db/client";
import { notices } from "@/db/schema/machinery";
import { people } from "@/db/schema/practice";
import { unseal } from "@/lib/access/sealed";
import { CODE_LIFE_MS } from "@/lib/access/sign-in-code";
import { compose, type Mail } from "@/lib/notices/compose";
import { sendMail } from "@/lib/notices/send";

const LOOK_MS = 1_000;
const AT_ONCE = 20;
/** Whoever claims a notice has this long; after a crash it is sent again. */
const CLAIM_MS = 2 * 60_000;
const MAX_TRIES = 12;
/** 15 s, 30 s, 1 min … up to four hours: over a day in all. */
const pauseAfter = (tries: number): number => Math.min(15_000 * 2 ** (tries - 1), 4 * 3_600_000);

type Send = (mail: Mail, now: number) => Promise<void>;
export type Delivered = { readonly sent: number; readonly failed: number; readonly gaveUp: number };

/**
 * Sends what is due, oldest first, each at least once: claimed, sent, then marked. A failure is tried
 * again later and later, and given up after twelve tries, or when the code in it has run out.
 */
export async function deliverNotices(db: Database, now: number, send: Send = sendMail): Promise<Delivered> {
  const count = { sent: 0, failed: 0, gaveUp: 0 };
  for (const id of due(db, now)) {
    const claimed = claim(db, id, now);
    if (!claimed) continue;
    const mail = claimed.isOver ? null : compose(claimed);
    if (!mail) {
      settle(db, id, { gaveUpAt: now, sealedValues: null });
      count.gaveUp += 1;
      continue;
    }
    try {
      await send(mail, now);
      settle(db, id, { sentAt: now, sealedValues: null });
      count.sent += 1;
    } catch (error) {
      const isLast = claimed.tries >= MAX_TRIES;
      settle(db, id, isLast ? { gaveUpAt: now, sealedValues: null } : { nextTryAt: now + pauseAfter(claimed.tries) });
      count[isLast ? "gaveUp" : "failed"] += 1;
      note(claimed.kind, claimed.tries, error);
    }
  }
  return count;
}

function due(db: Database, now: number): readonly string[] {
  return db.select({ id: notices.id }).from(notices)
    .where(and(isNull(notices.sentAt), isNull(notices.gaveUpAt), lte(notices.nextTryAt, now)))
    .orderBy(asc(notices.createdAt)).limit(AT_ONCE).all().map(({ id }) => id);
}

const Values = z.object({ code: z.string().optional(), key: z.string().optional() });

/** Takes one notice for this process; null when another took it first. */
function claim(db: Database, id: string, now: number) {
  return db.transaction((tx) => {
    const row = tx.select({
      id: notices.id, kind: notices.kind, tries: notices.tries, sealed: notices.sealedValues, createdAt: notices.createdAt,
      to: people.email, disabledAt: people.disabledAt,
    }).from(notices).innerJoin(people, eq(people.id, notices.personId))
      .where(and(eq(notices.id, id), isNull(notices.sentAt), isNull(notices.gaveUpAt), lte(notices.nextTryAt, now))).get();
    if (!row) return null;
    const tries = row.tries + 1;
    tx.update(notices).set({ tries, nextTryAt: now + CLAIM_MS }).where(eq(notices.id, id)).run();
    const opened = row.sealed === null ? "{}" : unseal("notice", row.sealed);
    const isOver = row.disabledAt !== null || opened === null || (row.kind === "sign-in-code" && now >= row.createdAt + CODE_LIFE_MS);
    const { code, key } = Values.parse(JSON.parse(opened ?? "{}"));
    const values = { ...(code === undefined ? {} : { code }), ...(key === undefined ? {} : { key }) };
    return { id, kind: row.kind, to: row.to, tries, isOver, values };
  }, { behavior: "immediate" });
}

function settle(db: Database, id: string, set: Partial<typeof notices.$inferInsert>): void {
  db.update(notices).set(set).where(eq(notices.id, id)).run();
}

/** One line without an address or a word of the mail. */
function note(kind: string, tries: number, error: unknown): void {
  const code = typeof error === "object" && error !== null && "code" in error ? String(error.code) : "unknown";
  process.stderr.write(`${JSON.stringify({ at: new Date().toISOString(), event: "notice-failed", kind, tries, code })}\n`);
}

const RUNNING = Symbol.for("trueside.outbox");
type Shared = { [RUNNING]?: NodeJS.Timeout };

/** Looks for due notices every second, once a process however often it is called. */
export function startOutbox(): void {
  const shared = globalThis as Shared; // a symbol of our own on the global object
  if (shared[RUNNING]) return;
  let isBusy = false;
  shared[RUNNING] = setInterval(() => {
    if (isBusy) return;
    isBusy = true;
    deliverNotices(database(), Date.now())
      .catch((error: unknown) => note("outbox", 0, error))
      .finally(() => {
        isBusy = false;
      });
  }, LOOK_MS);
  shared[RUNNING].unref();
}
