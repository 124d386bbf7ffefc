import "server-only";
import { and, eq, isNotNull, isNull } from "drizzle-orm";
import { claims, drafts } from "@/db/schema/answers";
import { photoSets } from "@/db/schema/photos";
import type { ChildGrant } from "@/lib/access/grant";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { act } from "@/lib/records/act";
import { tellCarers } from "@/lib/records/carers";
import { own } from "@/lib/records/child-facts";

/** "Sent for the wrong child": the set counts nowhere any more, its pictures close, and the family is told. */
export async function voidPhotoSet(grant: ChildGrant<"answer.write">, photoSetId: string, now: number): Promise<Result<null>> {
  return act(grant, "photo-set.voided", now, (tx) => {
    const voided = tx.update(photoSets).set({ voidedAt: now, voidedBy: grant.actor.personId, voidReason: "wrong-child" })
      .where(and(own(photoSets, grant), eq(photoSets.id, photoSetId), isNotNull(photoSets.sentAt), isNull(photoSets.voidedAt))).run();
    if (voided.changes === 0) return refuse("set-voided");
    tx.delete(claims).where(eq(claims.photoSetId, photoSetId)).run();
    tx.delete(drafts).where(and(own(drafts, grant), eq(drafts.photoSetId, photoSetId))).run();
    tellCarers(tx, grant, "set-voided", photoSetId, now);
    return ok({ objectId: photoSetId, value: null });
  });
}
