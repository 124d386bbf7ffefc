import "server-only";
import { and, asc, count, desc, eq, isNotNull, isNull, lte, sql, type SQL } from "drizzle-orm";
import { database, type Database } from "@/db/client";
import { OF_CHILD, prepared } from "@/db/prepared";
import { children, families } from "@/db/schema/care";
import { retentionRuns } from "@/db/schema/erasure";
import { photoSets, photos } from "@/db/schema/photos";
import { practices } from "@/db/schema/practice";
import type { ChildGrant, PracticeGrant } from "@/lib/access/grant";
import { appendAudit } from "@/lib/audit/append";
import { mustHold, retentionOf, type LastRun, type Planned } from "@/lib/domain/retention/retention";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { DAY_MS, localDate } from "@/lib/domain/time/local";
import type { MediaStore } from "@/lib/media/store";
import { act } from "@/lib/records/act";
import { tellCarers } from "@/lib/records/carers";
import { eraseRows, type Tombstone } from "@/lib/records/erasing";
import { leftOvers, sweepLeftOvers } from "@/lib/records/left-overs";
import { isFamilys } from "@/lib/records/sent-photos";
import { tellLeads } from "@/lib/records/tell-staff";
import { finishErasing } from "@/lib/records/tombstones";

/** A set with photos, and what its age asks for. */
type AgedSet = { readonly photoSetId: string; readonly childId: string; readonly familyId: string; readonly childName: string; readonly photos: number; readonly state: "keep" | "warn" | "warned" | "erase"; readonly eraseAt: number };

const PRACTICE = sql.placeholder("practiceId");
const setsBefore = (db: Database, which: SQL | undefined) => db.select({
  photoSetId: photoSets.id, childId: photoSets.childId, familyId: photoSets.familyId, childName: children.givenName,
  sentAt: photoSets.sentAt, warnedAt: photoSets.eraseWarnedAt, photos: count(photos.id),
  lastAnswer: sql<number | null>`(select max(published_at) from answers where answers.photo_set_id = ${photoSets.id} and taken_back_at is null)`,
}).from(photoSets).innerJoin(photos, and(eq(photos.photoSetId, photoSets.id), isNull(photos.removedAt), isFamilys))
  .innerJoin(children, eq(children.id, photoSets.childId)).innerJoin(families, eq(families.id, photoSets.familyId))
  .where(and(eq(families.practiceId, PRACTICE), isNotNull(photoSets.sentAt), isNull(photoSets.voidedAt), which, lte(photoSets.sentAt, sql.placeholder("before"))))
  .groupBy(photoSets.id).orderBy(asc(children.givenName), asc(photoSets.sentAt)).prepare();
const setsOfPractice = prepared((db) => setsBefore(db, undefined));
const setsOfOneChild = prepared((db) => setsBefore(db, eq(photoSets.childId, OF_CHILD.childId)));

/** Sets of a practice, or of one child, with photos that are old enough to be looked at. */
function agedSets(practiceId: string, now: number, childId?: string): readonly AgedSet[] {
  const { months, zone } = settingOf(practiceId);
  // The shortest months and the warning before: nothing younger can be due, and most of all sets are younger.
  const before = now - (months * 28 - 35) * DAY_MS;
  return (childId === undefined ? setsOfPractice().all({ practiceId, before }) : setsOfOneChild().all({ practiceId, childId, before }))
    .map(({ sentAt, lastAnswer: answeredAt, warnedAt, ...set }) => ({ ...set, ...retentionOf({ lastAt: answeredAt ?? sentAt ?? now, warnedAt }, months, zone, now) }));
}

const theSetting = prepared((db) => db.select({ months: practices.retentionMonths, zone: practices.timeZone }).from(practices).where(eq(practices.id, PRACTICE)).prepare());

function settingOf(practiceId: string): { readonly months: number; readonly zone: string } {
  const practice = theSetting().get({ practiceId });
  if (!practice) throw new Error("the practice is missing");
  return practice;
}

type Plan = { readonly sets: readonly AgedSet[]; readonly left: readonly Pick<Tombstone, "kind" | "id">[]; readonly planned: Planned };

function planOf(db: Database, practiceId: string, now: number): Plan {
  const sets = agedSets(practiceId, now);
  const left = leftOvers(db, now);
  const photosIn = (state: AgedSet["state"]) => sets.filter((set) => set.state === state).reduce((sum, set) => sum + set.photos, 0);
  const total = db.select({ n: count() }).from(photos).where(isFamilys).get()?.n ?? 0;
  return { sets, left, planned: { photos: photosIn("erase") + left.length, warned: photosIn("warn"), total } };
}

/** The newest look that lies in the past: what a clock wrote that ran ahead says nothing. */
function lastRun(db: Database, practiceId: string, now: number): (LastRun & { readonly id: string }) | null {
  return db.select({ id: retentionRuns.id, ranAt: retentionRuns.ranAt, outcome: retentionRuns.outcome, due: retentionRuns.due, confirmedAt: retentionRuns.confirmedAt }).from(retentionRuns)
    .where(and(eq(retentionRuns.practiceId, practiceId), lte(retentionRuns.ranAt, now))).orderBy(desc(retentionRuns.ranAt)).limit(1).get() ?? null;
}

/** A day is the least between two looks, less an hour, so that it does not wander through the night. */
const AGAIN_MS = DAY_MS - 3_600_000;

/** Whether it is time to look: once a day, and at once when the lead has confirmed what waited. */
export function isRetentionDue(db: Database, practiceId: string, now: number): boolean {
  const last = lastRun(db, practiceId, now);
  return last === null || now - last.ranAt >= AGAIN_MS || (last.outcome === "held" && last.confirmedAt !== null);
}

/**
 * Warns of what will be too old, erases what is and what was left over; or, where a person must look first,
 * does nothing and tells the lead. Asked twice, it adds nothing twice.
 */
export async function runRetention(db: Database, store: MediaStore, practiceId: string, now: number): Promise<"done" | "held"> {
  const { sets, left, planned } = planOf(db, practiceId, now);
  const outcome = mustHold(planned, lastRun(db, practiceId, now), now) ? "held" : "done";
  if (outcome === "done") {
    warn(db, practiceId, sets.filter((set) => set.state === "warn"), now);
    await eraseAged(db, sets.filter((set) => set.state === "erase"), left, now);
  }
  db.transaction((tx) => {
    if (outcome === "done") sweepLeftOvers(tx, now);
    const id = crypto.randomUUID();
    tx.insert(retentionRuns).values({ id, practiceId, ranAt: now, due: planned.photos + planned.warned, total: planned.total, outcome }).run();
    if (outcome === "held") tellLeads(tx, practiceId, "retention-held", id, now);
  }, { behavior: "immediate" });
  if (outcome === "held") process.stderr.write(`${JSON.stringify({ at: new Date(now).toISOString(), event: "retention-held", photos: planned.photos, warned: planned.warned, total: planned.total })}\n`);
  await finishErasing(db, store);
  return outcome;
}

/** One notice a child and day, however many sets. */
function warn(db: Database, practiceId: string, sets: readonly AgedSet[], now: number): void {
  const day = localDate(now, settingOf(practiceId).zone);
  for (const set of sets) {
    db.transaction((tx) => {
      tx.update(photoSets).set({ eraseWarnedAt: now }).where(and(eq(photoSets.id, set.photoSetId), eq(photoSets.childId, set.childId))).run();
      tellCarers(tx, set, "photos-expire", `${set.childId}:${day}`, now);
    }, { behavior: "immediate" });
  }
}

/** Erased in one transaction, so that others get in between. */
const AT_ONCE = 50;

async function eraseAged(db: Database, sets: readonly AgedSet[], left: Plan["left"], now: number): Promise<void> {
  const all = [...left];
  for (const { photoSetId } of sets) {
    for (const { id } of db.select({ id: photos.id }).from(photos).where(and(eq(photos.photoSetId, photoSetId), isNull(photos.removedAt), isFamilys)).all()) all.push({ kind: "photo", id });
  }
  for (let at = 0; at < all.length; at += AT_ONCE) {
    const some = all.slice(at, at + AT_ONCE).map((each) => ({ ...each, erasedAt: now }));
    db.transaction((tx) => {
      for (const { kind, id } of eraseRows(tx, some)) {
        appendAudit(tx, { at: now, actorId: null, role: null, act: `${kind}.expired`, objectId: id, familyId: null, outcome: "done", requestId: null, sessionHash: null });
      }
    }, { behavior: "immediate" });
    await new Promise((resolve) => { setImmediate(resolve); });
  }
}

export type RetentionView = {
  readonly months: number;
  readonly total: number;
  /** What would go now, and what is left over besides. */
  readonly due: readonly { readonly childId: string; readonly childName: string; readonly photos: number; readonly eraseAt: number }[];
  readonly left: number;
  /** Whose family is told and when it goes, soonest first; also those who would be told now. */
  readonly soon: readonly { readonly childId: string; readonly childName: string; readonly photos: number; readonly eraseAt: number }[];
  /** A look that waits for the lead, with how many photos it is about. */
  readonly held: { readonly runId: string; readonly photos: number; readonly ranAt: number; readonly isConfirmed: boolean } | null;
  readonly lastAt: number | null;
};

/** What the next look would do, without doing it. */
export async function retentionPlan(grant: PracticeGrant<"erasures.read">, now: number): Promise<RetentionView> {
  const db = database();
  const { sets, left, planned } = planOf(db, grant.practiceId, now);
  const last = lastRun(db, grant.practiceId, now);
  return {
    months: settingOf(grant.practiceId).months, total: planned.total, left: left.length,
    due: byChild(sets.filter((set) => set.state === "erase")), soon: byChild(sets.filter((set) => set.state === "warn" || set.state === "warned")),
    held: last?.outcome === "held" ? { runId: last.id, photos: planned.photos + planned.warned, ranAt: last.ranAt, isConfirmed: last.confirmedAt !== null } : null,
    lastAt: last?.ranAt ?? null,
  };
}

/** Whether old photos wait for the lead. */
export async function isRetentionHeld(grant: PracticeGrant<"erasures.read">, now: number): Promise<boolean> {
  const last = lastRun(database(), grant.practiceId, now);
  return last?.outcome === "held" && last.confirmedAt === null;
}

function byChild(sets: readonly AgedSet[]): RetentionView["due"] {
  const all = new Map<string, { readonly childId: string; readonly childName: string; readonly photos: number; readonly eraseAt: number }>();
  for (const { childId, childName, photos: n, eraseAt } of sets) {
    const known = all.get(childId);
    all.set(childId, { childId, childName, photos: (known?.photos ?? 0) + n, eraseAt: Math.min(known?.eraseAt ?? eraseAt, eraseAt) });
  }
  return [...all.values()].toSorted((a, b) => a.eraseAt - b.eraseAt);
}

/** The lead lets what waited go on, as many photos as were on the page and no more. Refused: `stale-version`, `numbers-changed`. */
export async function confirmRetention(grant: PracticeGrant<"retention.confirm">, { runId, photos: seen }: { readonly runId: string; readonly photos: number }, now: number): Promise<Result<null>> {
  const { planned } = planOf(database(), grant.practiceId, now);
  if (planned.photos + planned.warned !== seen) return refuse("numbers-changed");
  return act(grant, "retention.confirmed", now, (tx) => {
    const confirmed = tx.update(retentionRuns).set({ confirmedAt: now, confirmedBy: grant.actor.personId, due: seen })
      .where(and(eq(retentionRuns.id, runId), eq(retentionRuns.practiceId, grant.practiceId), eq(retentionRuns.outcome, "held"), isNull(retentionRuns.confirmedAt))).run();
    return confirmed.changes === 1 ? ok({ objectId: runId, value: null }) : refuse("stale-version");
  });
}

export type Expiry = { readonly months: number; readonly soonest: number | null; readonly setIds: ReadonlyMap<string, number> };

/** When photos of this child go by age, of those whose family is told already; by set. */
export async function expiryOf(grant: ChildGrant<"child.read">, now: number): Promise<Expiry> {
  const told = agedSets(grant.practiceId, now, grant.childId).filter((set) => set.state === "warned" || set.state === "erase");
  return { months: settingOf(grant.practiceId).months, soonest: told.length === 0 ? null : Math.min(...told.map((set) => set.eraseAt)), setIds: new Map(told.map((set) => [set.photoSetId, set.eraseAt])) };
}
