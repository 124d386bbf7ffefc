import "server-only";
import { and, asc, eq, isNotNull, isNull } from "drizzle-orm";
import type { Transaction } from "@/db/client";
import { among, OF_CHILD, prepared } from "@/db/prepared";
import { careLinks } from "@/db/schema/care";
import { people } from "@/db/schema/practice";
import { linksToChild, linksToChildren } from "@/lib/access/care-reach";
import { addNotice } from "@/lib/notices/add";
import { own, type ChildRef } from "@/lib/records/child-facts";
import { grouped } from "@/lib/records/grouped";

export type Carer = { readonly personId: string; readonly name: string; readonly phone: string | null; readonly relation: "guardian" | "self" };

/** Who cares for this child now and may see it, and the number to call. For lib/records alone: the caller has the grant. */
export function readCarers(ref: ChildRef, now: number): readonly Carer[] {
  const reaching = new Set(linksToChild(ref, now).filter(({ reach }) => reach !== "none").map(({ personId }) => personId));
  return linked().all({ childId: ref.childId, familyId: ref.familyId }).filter(({ personId }) => reaching.has(personId));
}

const linked = prepared((db) => db.select({ personId: people.id, name: people.name, phone: people.phone, relation: careLinks.relation })
  .from(careLinks).innerJoin(people, eq(people.id, careLinks.personId))
  .where(and(own(careLinks, OF_CHILD), isNull(careLinks.endedAt), isNull(people.disabledAt))).orderBy(asc(people.name)).prepare());

/** Who cares for each of these children now and may see it, by child. For lib/records alone. */
export function readCarersOf(childIds: readonly string[], now: number): ReadonlyMap<string, readonly string[]> {
  const links = linksToChildren(childIds, now).filter(({ reach }) => reach !== "none");
  const disabled = new Set(disabledAmong().all({ personIds: JSON.stringify(links.map(({ personId }) => personId)) }).map(({ id }) => id));
  const by = grouped(links.filter(({ personId }) => !disabled.has(personId)), ({ childId }) => childId);
  return new Map(childIds.map((childId) => [childId, (by.get(childId) ?? []).map(({ personId }) => personId)]));
}

const disabledAmong = prepared((db) => db.select({ id: people.id }).from(people).where(and(among(people.id, "personIds"), isNotNull(people.disabledAt))).prepare());

export type CarerNotice = "answer" | "answer-stop" | "set-voided" | "stop-placed" | "stop-lifted" | "symptom-cleared" | "seen-live" | "seen-live-stop" | "reply" | "session-place" | "session-changed" | "session-ask" | "erasure-asked" | "photos-expire";

/** One mail for each carer, in the transaction of the act it tells about. It says no more than that there is news, and not before `from`. */
export function tellCarers(tx: Transaction, ref: ChildRef, kind: CarerNotice, objectId: string, now: number, from = now): void {
  for (const { personId } of readCarers(ref, now)) {
    addNotice(tx, { kind, personId, dedupeKey: `${kind}:${objectId}:${personId}`, now, from });
  }
}
