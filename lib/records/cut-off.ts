import "server-only";
import { and, eq, inArray, isNull } from "drizzle-orm";
import type { Transaction } from "@/db/client";
import { careLinks } from "@/db/schema/care";
import { childExports } from "@/db/schema/exports";
import { notices } from "@/db/schema/machinery";
import { photoSets, photos } from "@/db/schema/photos";
import { people } from "@/db/schema/practice";
import { signInCodes } from "@/db/schema/sign-in";
import { withdrawInvitations } from "@/lib/access/invitation";
import { endSessionsOf } from "@/lib/access/session-row";
import { forgetPhonesOf } from "@/lib/notices/phones";
import { own, type ChildRef } from "@/lib/records/child-facts";
import { endExports } from "@/lib/records/export-files";
import { endRequests } from "@/lib/records/session-places";

/**
 * All that runs on one person's reach to one child, ended in the transaction that ends the reach: every
 * session (the phone signs in anew and finds what is left), photos not sent yet, places asked for, and, with the last link,
 * sign-in itself: codes, invitations, pushes and mail that waits. Pictures and the phone's queue meet the gate.
 */
export function cutOff(tx: Transaction, { personId, ...ref }: ChildRef & { readonly personId: string }, now: number): void {
  endSessionsOf(tx, personId, now);
  const unsent = tx.select({ id: photoSets.id }).from(photoSets).where(and(own(photoSets, ref), eq(photoSets.sentBy, personId), isNull(photoSets.sentAt))).all();
  tx.update(photos).set({ removedAt: now })
    .where(and(own(photos, ref), inArray(photos.photoSetId, unsent.map(({ id }) => id)), isNull(photos.removedAt))).run();
  endRequests(tx, ref, personId, now);
  endExports(tx, ref, eq(childExports.askedBy, personId), now);
  const left = tx.select({ id: careLinks.id }).from(careLinks).where(and(eq(careLinks.personId, personId), isNull(careLinks.endedAt))).all();
  if (left.length > 0) return;
  tx.update(people).set({ disabledAt: now }).where(eq(people.id, personId)).run();
  withdrawInvitations(tx, personId, now);
  forgetPhonesOf(tx, personId);
  tx.update(signInCodes).set({ replacedAt: now }).where(and(eq(signInCodes.personId, personId), isNull(signInCodes.usedAt), isNull(signInCodes.replacedAt))).run();
  tx.update(notices).set({ gaveUpAt: now, sealedValues: null }).where(and(eq(notices.personId, personId), isNull(notices.sentAt), isNull(notices.gaveUpAt))).run();
}
