import "server-only";
import { and, asc, eq, isNull, lte } from "drizzle-orm";
import { database, type Database, type Transaction } from "@/db/client";
import { OF_CHILD, prepared } from "@/db/prepared";
import { children, families } from "@/db/schema/care";
import { erasureRequests } from "@/db/schema/erasure";
import { photos } from "@/db/schema/photos";
import { people } from "@/db/schema/practice";
import { voiceNotes } from "@/db/schema/voice";
import type { ChildGrant, FamilyGrant, PracticeGrant } from "@/lib/access/grant";
import { appendAudit } from "@/lib/audit/append";
import { UNDO_DAYS } from "@/lib/domain/retention/retention";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { DAY_MS } from "@/lib/domain/time/local";
import { roomToErase } from "@/lib/media/reserve";
import type { MediaStore } from "@/lib/media/store";
import { addNotice } from "@/lib/notices/add";
import { act } from "@/lib/records/act";
import { tellCarers } from "@/lib/records/carers";
import { own, type ChildRef } from "@/lib/records/child-facts";
import { eraseRows, type Tombstone } from "@/lib/records/erasing";
import { mediaStore } from "@/lib/records/media";
import { tellLeads } from "@/lib/records/tell-staff";
import { finishErasing } from "@/lib/records/tombstones";

/** What of one child is to go. A whole child is named once more in words, so that no slip erases another. */
export type OfChild =
  | { readonly kind: "photo" | "voice-note"; readonly objectId: string }
  | { readonly kind: "child"; readonly typedName: string };

/**
 * Asks for an erasure, which is done in seven days unless it is taken back. Every carer and the lead are told.
 * Asked twice, it stays at the first date. Refused: `not-there`, `name-not-typed`.
 */
export async function askErasure(grant: ChildGrant<"erasure.ask" | "erasure.settle">, what: OfChild, now: number): Promise<Result<{ readonly requestId: string }>> {
  return act(grant, `${what.kind}.erasure-asked`, now, (tx) => {
    const named = objectOf(tx, grant, what);
    if (!named.ok) return named;
    const requestId = ask(tx, grant, { kind: what.kind, objectId: named.value, childId: grant.childId, familyId: grant.familyId }, now);
    tellCarers(tx, grant, "erasure-asked", requestId, now);
    return ok({ objectId: named.value, value: { requestId } });
  });
}

/** Erases at once what is named. For the lead alone; refused as above. */
export async function eraseNow(grant: ChildGrant<"erasure.settle">, what: OfChild, now: number): Promise<Result<null>> {
  roomToErase();
  const erased = act(grant, `${what.kind}.erased`, now, (tx) => {
    const named = objectOf(tx, grant, what);
    if (!named.ok) return named;
    eraseAsked(tx, { kind: what.kind, id: named.value, erasedAt: now });
    return ok({ objectId: named.value, value: null });
  });
  if (erased.ok) await finishErasing(database(), mediaStore());
  return erased;
}

/** The same for a family with all its children, in seven days or at once; its name is typed. */
export async function eraseFamily(grant: FamilyGrant<"family.erase">, { typedName, isNow }: { readonly typedName: string; readonly isNow: boolean }, now: number): Promise<Result<null>> {
  const { familyId } = grant;
  if (isNow) roomToErase();
  const erased = act(grant, isNow ? "family.erased" : "family.erasure-asked", now, (tx) => {
    const family = tx.select({ name: families.name }).from(families).where(and(eq(families.id, familyId), eq(families.practiceId, grant.practiceId))).get();
    if (!family) return refuse("not-there");
    if (!isSameName(family.name, typedName)) return refuse("name-not-typed", { field: "typedName" });
    if (isNow) {
      eraseAsked(tx, { kind: "family", id: familyId, erasedAt: now });
      return ok({ objectId: familyId, value: null });
    }
    const requestId = ask(tx, grant, { kind: "family", objectId: familyId, childId: null, familyId }, now);
    for (const { childId } of tx.select({ childId: children.id }).from(children).where(eq(children.familyId, familyId)).all()) tellCarers(tx, { childId, familyId }, "erasure-asked", requestId, now);
    return ok({ objectId: familyId, value: null });
  });
  if (erased.ok && isNow) await finishErasing(database(), mediaStore());
  return erased;
}

/** Whoever decides for the child may take any request about it back, and the lead too. Refused: `stale-version`. */
export async function takeBackErasure(grant: ChildGrant<"erasure.take-back" | "erasure.settle">, requestId: string, now: number): Promise<Result<null>> {
  return act(grant, "erasure.taken-back", now, (tx) => {
    const taken = tx.update(erasureRequests).set({ takenBackAt: now, takenBackBy: grant.actor.personId })
      .where(and(eq(erasureRequests.id, requestId), eq(erasureRequests.childId, grant.childId), eq(erasureRequests.familyId, grant.familyId), isNull(erasureRequests.takenBackAt))).run();
    return taken.changes === 1 ? ok({ objectId: requestId, value: null }) : refuse("stale-version");
  });
}

export async function keepFamily(grant: FamilyGrant<"family.erase">, requestId: string, now: number): Promise<Result<null>> {
  return act(grant, "erasure.taken-back", now, (tx) => {
    const taken = tx.update(erasureRequests).set({ takenBackAt: now, takenBackBy: grant.actor.personId })
      .where(and(eq(erasureRequests.id, requestId), eq(erasureRequests.familyId, grant.familyId), eq(erasureRequests.kind, "family"), isNull(erasureRequests.takenBackAt))).run();
    return taken.changes === 1 ? ok({ objectId: requestId, value: null }) : refuse("stale-version");
  });
}

export type WaitingErasure = {
  readonly requestId: string; readonly kind: Tombstone["kind"]; readonly objectId: string;
  readonly askedBy: string; readonly askedAt: number; readonly dueAt: number;
};

const WAITING = {
  requestId: erasureRequests.id, kind: erasureRequests.kind, objectId: erasureRequests.objectId, askedBy: people.name, askedAt: erasureRequests.askedAt, dueAt: erasureRequests.dueAt,
} as const;

const askedOfFamily = prepared((db) => db.select({ ...WAITING, childId: erasureRequests.childId }).from(erasureRequests).innerJoin(people, eq(people.id, erasureRequests.askedBy))
  .where(and(eq(erasureRequests.familyId, OF_CHILD.familyId), isNull(erasureRequests.takenBackAt))).orderBy(asc(erasureRequests.dueAt)).prepare());

/** What is asked for of one child and not taken back, soonest first; that of its whole family too. */
export async function erasuresOf(grant: ChildGrant<"child.read">): Promise<readonly WaitingErasure[]> {
  return askedOfFamily().all({ familyId: grant.familyId })
    .flatMap(({ childId, ...row }) => (childId === null || childId === grant.childId ? [row] : []));
}

export type PracticeErasure = WaitingErasure & { readonly childId: string | null; readonly familyId: string; readonly familyName: string; readonly childName: string | null };

/** Everything asked for in the practice, soonest first. */
export async function waitingErasures(grant: PracticeGrant<"erasures.read">): Promise<readonly PracticeErasure[]> {
  return database().select({ ...WAITING, childId: erasureRequests.childId, familyId: families.id, familyName: families.name, childName: children.givenName }).from(erasureRequests)
    .innerJoin(people, eq(people.id, erasureRequests.askedBy)).innerJoin(families, eq(families.id, erasureRequests.familyId)).leftJoin(children, eq(children.id, erasureRequests.childId))
    .where(and(eq(families.practiceId, grant.practiceId), isNull(erasureRequests.takenBackAt))).orderBy(asc(erasureRequests.dueAt)).all();
}

/** Does what was asked for and not taken back in time. Beside the requests; asked twice, or after a restart, it does nothing twice. */
export async function carryOutErasures(db: Database, store: MediaStore, now: number): Promise<number> {
  const due = db.select().from(erasureRequests).where(and(isNull(erasureRequests.takenBackAt), lte(erasureRequests.dueAt, now))).orderBy(asc(erasureRequests.dueAt)).all();
  if (due.length > 0) roomToErase();
  for (const { id, kind, objectId, familyId } of due) {
    db.transaction((tx) => {
      // Taken back, or gone with its child, a moment ago.
      if (!tx.select({ id: erasureRequests.id }).from(erasureRequests).where(and(eq(erasureRequests.id, id), isNull(erasureRequests.takenBackAt))).get()) return;
      eraseAsked(tx, { kind, id: objectId, erasedAt: now });
      // Of what was gone already, the request alone is left.
      tx.delete(erasureRequests).where(eq(erasureRequests.id, id)).run();
      appendAudit(tx, { at: now, actorId: null, role: null, act: `${kind}.erased`, objectId, familyId, outcome: "done", requestId: null, sessionHash: null });
    }, { behavior: "immediate" });
  }
  if (due.length > 0) await finishErasing(db, store);
  return due.length;
}

/** Erases, and tells whoever asked for it. Who is gone with it has no address here any more. */
function eraseAsked(tx: Transaction, stone: Tombstone): void {
  const asked = tx.select({ id: erasureRequests.id, askedBy: erasureRequests.askedBy }).from(erasureRequests)
    .where(and(eq(erasureRequests.kind, stone.kind), eq(erasureRequests.objectId, stone.id), isNull(erasureRequests.takenBackAt))).all();
  eraseRows(tx, [stone]);
  for (const { id, askedBy } of asked) {
    const isHere = tx.select({ id: people.id }).from(people).where(and(eq(people.id, askedBy), isNull(people.disabledAt))).get();
    if (isHere) addNotice(tx, { kind: "erasure-done", personId: askedBy, dedupeKey: `erasure-done:${id}`, now: stone.erasedAt });
  }
}

function ask(
  tx: Transaction, { actor, practiceId }: ChildGrant<"erasure.ask" | "erasure.settle"> | FamilyGrant<"family.erase">,
  what: Pick<typeof erasureRequests.$inferInsert, "kind" | "objectId" | "childId" | "familyId">, now: number,
): string {
  const there = tx.select({ id: erasureRequests.id }).from(erasureRequests)
    .where(and(eq(erasureRequests.kind, what.kind), eq(erasureRequests.objectId, what.objectId), isNull(erasureRequests.takenBackAt))).get();
  if (there) return there.id;
  const id = crypto.randomUUID();
  tx.insert(erasureRequests).values({ id, ...what, askedBy: actor.personId, askedAt: now, dueAt: now + UNDO_DAYS * DAY_MS }).run();
  tellLeads(tx, practiceId, "erasure-asked", id, now);
  return id;
}

function objectOf(tx: Transaction, ref: ChildRef, what: OfChild): Result<string> {
  if (what.kind === "child") {
    const child = tx.select({ name: children.givenName }).from(children).where(and(eq(children.id, ref.childId), eq(children.familyId, ref.familyId))).get();
    if (!child) return refuse("not-there");
    return isSameName(child.name, what.typedName) ? ok(ref.childId) : refuse("name-not-typed", { field: "typedName" });
  }
  const table = what.kind === "photo" ? photos : voiceNotes;
  return tx.select({ id: table.id }).from(table).where(and(own(table, ref), eq(table.id, what.objectId))).get() ? ok(what.objectId) : refuse("not-there");
}

const isSameName = (name: string, typed: string): boolean => {
  const plain = (text: string): string => text.normalize("NFKC").trim().toLowerCase();
  return plain(name) === plain(typed);
};
