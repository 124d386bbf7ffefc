import "server-only";
import { randomUUID } from "node:crypto";
import { and, asc, count, eq, ne } from "drizzle-orm";
import { database } from "@/db/client";
import { pushPhones } from "@/db/schema/reach";
import type { SelfGrant } from "@/lib/access/grant";
import type { Device } from "@/lib/domain/notices/device";
import { endpointOf, MOST_PHONES } from "@/lib/domain/notices/push";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { endpointHash, forgetPhone, sealAddress, type PushAddress } from "@/lib/notices/phones";
import { isPointOnCurve } from "@/lib/notices/push";
import { act } from "@/lib/records/act";

export type Phone = { readonly id: string; readonly device: Device; readonly createdAt: number };

/** The browsers that this person has told us to push to, oldest first. */
export async function phonesOf(grant: SelfGrant<"notices.choose">): Promise<readonly Phone[]> {
  return database().select({ id: pushPhones.id, device: pushPhones.device, createdAt: pushPhones.createdAt }).from(pushPhones)
    .where(eq(pushPhones.personId, grant.actor.personId)).orderBy(asc(pushPhones.createdAt), asc(pushPhones.id)).all();
}

/**
 * Pushes to this browser from now on, and to nobody else who used it before. `before`: what it was known as.
 * Refused: `push-unknown` for an address of no known push service or keys that are none, `push-too-many`, and
 * `stale-version` for a renewal of what is not theirs.
 */
export async function addPhone(
  grant: SelfGrant<"notices.choose">,
  { address, device, before, isRenewal }: { readonly address: PushAddress; readonly device: Device; readonly before: string | null; readonly isRenewal: boolean },
  now: number,
): Promise<Result<{ readonly id: string }>> {
  const endpoint = endpointOf(address.endpoint);
  if (!endpoint || !isPointOnCurve(address.p256dh)) return refuse("push-unknown");
  return act(grant, isRenewal ? "phone.renewed" : "phone.added", now, (tx) => {
    const { personId } = grant.actor;
    const id = randomUUID();
    if (isRenewal && (before === null || !isOwn(before))) return refuse("stale-version");
    if (before !== null) forgetPhone(tx, before);
    const hash = endpointHash(endpoint.href);
    const others = tx.select({ n: count() }).from(pushPhones).where(and(eq(pushPhones.personId, personId), ne(pushPhones.endpointHash, hash))).get();
    if ((others?.n ?? 0) >= MOST_PHONES) return refuse("push-too-many", { values: { most: MOST_PHONES } });
    tx.delete(pushPhones).where(eq(pushPhones.endpointHash, hash)).run();
    tx.insert(pushPhones).values({ id, personId, endpointHash: hash, sealedAddress: sealAddress({ ...address, endpoint: endpoint.href }), device, createdAt: now }).run();
    return ok({ objectId: id, value: { id } });

    function isOwn(phoneId: string): boolean {
      return tx.select({ id: pushPhones.id }).from(pushPhones).where(and(eq(pushPhones.id, phoneId), eq(pushPhones.personId, personId))).get() !== undefined;
    }
  });
}

/** No more pushes to one of this person's browsers, or with `all` to any. What is gone already is as ended. */
export async function endPhone(grant: SelfGrant<"notices.choose">, which: string, now: number): Promise<Result<null>> {
  return act(grant, "phone.ended", now, (tx) => {
    const own = eq(pushPhones.personId, grant.actor.personId);
    tx.delete(pushPhones).where(which === "all" ? own : and(own, eq(pushPhones.id, which))).run();
    return ok({ objectId: which === "all" ? grant.actor.personId : which, value: null });
  });
}
