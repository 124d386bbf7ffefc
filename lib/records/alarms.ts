import "server-only";
import { and, asc, desc, eq, gt, inArray, isNull, lte, ne, or, sql } from "drizzle-orm";
import { database, dataDir, type Database } from "@/db/client";
import { alarms, alarmsSeen } from "@/db/schema/alarms";
import { auditEntries, notices } from "@/db/schema/machinery";
import { people, practices } from "@/db/schema/practice";
import { isDemo } from "@/lib/access/demo";
import type { PracticeGrant } from "@/lib/access/grant";
import { appendAudit } from "@/lib/audit/append";
import { backupFacts, readCheckState } from "@/lib/backup/state";
import { backupStanding } from "@/lib/domain/backup/standing";
import { ALARM_KINDS, ALARM_STATES, alarmingStates, bursts, countFrom, isNewState, timesDue, type AlarmKind, type Past, type States } from "@/lib/domain/upkeep/alarms";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { runEvery } from "@/lib/jobs/run-every";
import { talliedSince } from "@/lib/jobs/tally.mjs";
import { isDiskLow } from "@/lib/media/space";
import { act } from "@/lib/records/act";
import { tellLeads } from "@/lib/records/tell-staff";

const LOOK_MS = 60_000;
/** What a refused try to get in is called in the audit. */
const SIGNING_IN = ["sign-in", "second-factor.shown", "second-factor.set-up", "recovery-code.used", "mail-proof.shown"];
/** Looked through for refusals, so that a long chain costs nothing. */
const RECENT_ENTRIES = 2000;

/** Looks every minute, and tells the leads by the notices they have. */
export function startAlarms(): void {
  const startedAt = Date.now();
  const look = alarmLook();
  runEvery("alarms", LOOK_MS, (now) => look(database(), now, now - startedAt));
}

/** One look after the other: raises what is new, and tells again of what is open. */
export function alarmLook(): (db: Database, now: number, upMs: number) => void {
  const wellAt = new Map<AlarmKind, number>();
  return (db, now, upMs) => {
    const states = alarmingStates(statesOf(db, now, upMs), now);
    for (const { id: practiceId } of db.select({ id: practices.id }).from(practices).all()) {
      const past = newestOf(db, practiceId);
      for (const kind of states) if (isNewState(past.get(kind) ?? null, wellAt.get(kind) ?? 0, now)) raise(db, practiceId, kind, now);
      for (const kind of burstsNow(db, past, now)) if (past.get(kind)?.seenAt !== null) raise(db, practiceId, kind, now);
      for (const alarm of past.values()) if (alarm.seenAt === null) tell(db, practiceId, alarm, now);
    }
    for (const kind of ALARM_STATES) if (!states.includes(kind)) wellAt.set(kind, now);
  };
}

function statesOf(db: Database, now: number, upMs: number): States {
  const check = readCheckState(dataDir());
  const waiting = db.select({ since: notices.nextTryAt, createdAt: notices.createdAt, tries: notices.tries }).from(notices).where(and(
    isNull(notices.phoneId), isNull(notices.sentAt), isNull(notices.gaveUpAt), or(lte(notices.nextTryAt, now), gt(notices.tries, 0)),
    // An alarm that cannot be mailed is no second one.
    ne(notices.kind, "alarm"),
  )).orderBy(asc(notices.createdAt)).limit(1).get();
  return {
    check: check && { at: check.at, findings: check.findings, isHistoryBroken: check.isHistoryBroken ?? false },
    backup: backupStanding(backupFacts(dataDir()), now), isDiskLow: isDiskLow(), upMs,
    // What quiet hours held back counts from their end; what was tried, from when it was written.
    mailLateMs: waiting ? now - (waiting.tries > 0 ? waiting.createdAt : waiting.since) : null,
  };
}

function burstsNow(db: Database, past: ReadonlyMap<AlarmKind, Past>, now: number): readonly AlarmKind[] {
  const from = (kind: AlarmKind): number => countFrom(past.get(kind) ?? null, now);
  const newest = sql`(select coalesce(max(sequence), 0) from audit_entries)`;
  const signInsRefused = db.select({ n: sql<number>`count(*)` }).from(auditEntries).where(and(
    gt(auditEntries.sequence, sql`${newest} - ${RECENT_ENTRIES}`), gt(auditEntries.at, from("sign-ins")), eq(auditEntries.outcome, "refused"), inArray(auditEntries.act, SIGNING_IN),
  )).get()?.n ?? 0;
  return bursts({
    signInsRefused, decoderStopped: talliedSince("decoder-stopped", from("decoder")),
    failed: talliedSince("failed", from("errors")), answered: talliedSince("answered", from("errors")),
  });
}

type Raised = Past & { readonly id: string };

function newestOf(db: Database, practiceId: string): ReadonlyMap<AlarmKind, Raised> {
  return new Map(ALARM_KINDS.flatMap((kind) => {
    const newest = db.select({ id: alarms.id, raisedAt: alarms.raisedAt, seenAt: alarmsSeen.seenAt }).from(alarms).leftJoin(alarmsSeen, eq(alarmsSeen.alarmId, alarms.id))
      .where(and(eq(alarms.practiceId, practiceId), eq(alarms.kind, kind))).orderBy(desc(alarms.raisedAt)).limit(1).get();
    return newest ? [[kind, newest] as const] : [];
  }));
}

/** The line first: a database that cannot be written may be the very reason. */
function raise(db: Database, practiceId: string, kind: AlarmKind, now: number): void {
  process.stderr.write(`${JSON.stringify({ at: new Date(now).toISOString(), event: "alarm", kind })}\n`);
  const id = crypto.randomUUID();
  db.transaction((tx) => {
    tx.insert(alarms).values({ id, practiceId, kind, raisedAt: now }).run();
    appendAudit(tx, { at: now, actorId: null, role: null, act: "alarm.raised", objectId: id, familyId: null, outcome: "done", requestId: null, sessionHash: null });
  }, { behavior: "immediate" });
  tell(db, practiceId, { id, raisedAt: now, seenAt: null }, now);
}

/** Nobody runs a demo. */
function tell(db: Database, practiceId: string, alarm: Raised, now: number): void {
  if (!isDemo()) db.transaction((tx) => tellLeads(tx, practiceId, "alarm", `${alarm.id}:${timesDue(alarm, now)}`, now), { behavior: "immediate" });
}

export type AlarmView = { readonly alarmId: string; readonly kind: AlarmKind; readonly raisedAt: number; readonly seen: { readonly by: string; readonly at: number } | null };

const MOST_SHOWN = 50;

/** Open ones first, newest first; of those somebody saw to, the newest alone. */
export async function alarmsOf(grant: PracticeGrant<"alarms.read">): Promise<readonly AlarmView[]> {
  return database().select({ alarmId: alarms.id, kind: alarms.kind, raisedAt: alarms.raisedAt, seenAt: alarmsSeen.seenAt, seenBy: people.name }).from(alarms)
    .leftJoin(alarmsSeen, eq(alarmsSeen.alarmId, alarms.id)).leftJoin(people, eq(people.id, alarmsSeen.seenBy))
    .where(eq(alarms.practiceId, grant.practiceId)).orderBy(desc(isNull(alarmsSeen.seenAt)), desc(alarms.raisedAt)).limit(MOST_SHOWN).all()
    .map(({ seenAt, seenBy, ...alarm }) => ({ ...alarm, seen: seenAt === null ? null : { by: seenBy ?? "", at: seenAt } }));
}

/** How many are open. */
export async function openAlarms(grant: PracticeGrant<"alarms.read">): Promise<number> {
  return database().select({ n: sql<number>`count(*)` }).from(alarms).leftJoin(alarmsSeen, eq(alarmsSeen.alarmId, alarms.id))
    .where(and(eq(alarms.practiceId, grant.practiceId), isNull(alarmsSeen.seenAt))).get()?.n ?? 0;
}

/** Says by hand that it was seen to. Refused with `stale-version` when somebody said so before, or it is not there. */
export async function seeToAlarm(grant: PracticeGrant<"alarms.see-to">, alarmId: string, now: number): Promise<Result<null>> {
  return act(grant, "alarm.seen-to", now, (tx) => {
    const open = tx.select({ id: alarms.id }).from(alarms).leftJoin(alarmsSeen, eq(alarmsSeen.alarmId, alarms.id))
      .where(and(eq(alarms.id, alarmId), eq(alarms.practiceId, grant.practiceId), isNull(alarmsSeen.seenAt))).get();
    if (!open) return refuse("stale-version");
    tx.insert(alarmsSeen).values({ alarmId, seenBy: grant.actor.personId, seenAt: now }).run();
    return ok({ objectId: alarmId, value: null });
  });
}
