import "server-only";
import { and, asc, desc, eq, isNull, sql } from "drizzle-orm";
import { database } from "@/db/client";
import { childExports } from "@/db/schema/exports";
import type { ChildGrant } from "@/lib/access/grant";
import { appendAudit } from "@/lib/audit/append";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { isDiskLow } from "@/lib/media/space";
import type { ByteRange } from "@/lib/media/store";
import { act } from "@/lib/records/act";
import { own } from "@/lib/records/child-facts";
import { letGo, partsOf, readParts } from "@/lib/records/export-files";

/** The link is dead after a day; the figure is ours. */
export const EXPORT_LIFE_MS = 24 * 3_600_000;

export type ExportView = {
  readonly exportId: string;
  readonly askedAt: number;
  readonly state: "waiting" | "making" | "ready" | "failed" | "gone";
  readonly filesDone: number;
  /** Null until it was begun. */
  readonly filesToDo: number | null;
  /** Of the archive; null until it is made. */
  readonly madeAt: number | null;
  readonly byteLength: number | null;
  readonly until: number | null;
};

type Row = typeof childExports.$inferSelect;

/** Gone by the clock, whether or not anybody has tidied up yet. */
const isGone = (row: Row, now: number): boolean => row.goneAt !== null || (row.madeAt !== null && now > row.madeAt + EXPORT_LIFE_MS);

/** What this person asked for of this child last; null when nothing. */
export async function exportOf(grant: ChildGrant<"export.read">, now: number): Promise<ExportView | null> {
  const row = database().select().from(childExports).where(and(own(childExports, grant), eq(childExports.askedBy, grant.actor.personId))).orderBy(asc(sql`${childExports.goneAt} is not null`), desc(childExports.askedAt)).limit(1).get();
  if (!row) return null;
  const { id: exportId, askedAt, filesDone, filesToDo, madeAt, byteLength } = row;
  const state = isGone(row, now) ? "gone" : madeAt !== null ? "ready" : row.failedAt !== null ? "failed" : filesToDo === null ? "waiting" : "making";
  return { exportId, askedAt, state, filesDone, filesToDo, madeAt, byteLength, until: madeAt === null ? null : madeAt + EXPORT_LIFE_MS };
}

/** Asks for everything of one child as one archive; a finished one makes room for the new one. Refused while one is being made. */
export async function askForExport(grant: ChildGrant<"export.ask">, now: number): Promise<Result<null>> {
  if (isDiskLow()) return refuse("export-no-room");
  return act(grant, "export.asked", now, (tx) => {
    const open = tx.select().from(childExports).where(and(own(childExports, grant), eq(childExports.askedBy, grant.actor.personId), isNull(childExports.goneAt))).get();
    if (open && open.madeAt === null && open.failedAt === null) return refuse("export-under-way");
    if (open) letGo(tx, open.id, now);
    const id = crypto.randomUUID();
    tx.insert(childExports).values({ id, childId: grant.childId, familyId: grant.familyId, askedBy: grant.actor.personId, askedAt: now }).run();
    return ok({ objectId: id, value: null });
  });
}

export type Taken = { readonly byteLength: number; readonly sha256: string; readonly read: (range: ByteRange) => Promise<Buffer> };

/** The archive for whoever asked for it and nobody else; null when there is none such. Each taking is written down. */
export async function takeExport(grant: ChildGrant<"export.take">, exportId: string, now: number): Promise<Taken | "gone" | null> {
  const row = database().select().from(childExports).where(and(own(childExports, grant), eq(childExports.id, exportId), eq(childExports.askedBy, grant.actor.personId))).get();
  if (!row) return null;
  if (isGone(row, now)) return "gone";
  if (row.byteLength === null || row.sha256 === null) return null;
  const parts = partsOf(row.id);
  database().transaction((tx) => appendAudit(tx, {
    at: now, actorId: grant.actor.personId, role: grant.actor.role, act: "export.taken", objectId: row.id, familyId: grant.familyId,
    outcome: "done", requestId: grant.actor.requestId, sessionHash: grant.actor.sessionId,
  }), { behavior: "immediate" });
  return { byteLength: row.byteLength, sha256: row.sha256, read: (range) => readParts(parts, range) };
}
