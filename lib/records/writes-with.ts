import "server-only";
import { and, eq } from "drizzle-orm";
import { database } from "@/db/client";
import { children } from "@/db/schema/care";
import type { ChildGrant } from "@/lib/access/grant";
import { ok, refuse, type Result } from "@/lib/domain/result";
import type { Side } from "@/lib/domain/sides";
import { act } from "@/lib/records/act";

export type WritesWith = {
  /** Null: not asked, not sure, or both. */
  readonly hand: Side | null;
  readonly isAsked: boolean;
  /** Of the child's row, so that two who change it do not overwrite each other unseen. */
  readonly version: number;
};

export async function writesWithOf(grant: ChildGrant<"child.read">): Promise<WritesWith> {
  const row = database().select({ hand: children.writesWith, saidAt: children.writesWithSaidAt, version: children.version }).from(children)
    .where(and(eq(children.id, grant.childId), eq(children.familyId, grant.familyId))).get();
  if (!row) throw new Error("a granted child is missing");
  return { hand: row.hand, isAsked: row.saidAt !== null, version: row.version };
}

/** The hand the child writes with: a help to know left from right on the child, never part of the side check. */
export async function setWritesWith(
  grant: ChildGrant<"writes-with.set">,
  { hand, version }: { readonly hand: Side | null; readonly version: number },
  now: number,
): Promise<Result<null>> {
  return act(grant, "writes-with.set", now, (tx) => {
    const { changes } = tx.update(children).set({ writesWith: hand, writesWithSaidAt: now, version: version + 1 })
      .where(and(eq(children.id, grant.childId), eq(children.familyId, grant.familyId), eq(children.version, version))).run();
    return changes === 1 ? ok({ objectId: grant.childId, value: null }) : refuse("stale-version");
  });
}
