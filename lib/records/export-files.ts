import "server-only";
import { join } from "node:path";
import { and, asc, eq, inArray, isNull, type SQL } from "drizzle-orm";
import { database, dataDir, type Database, type Transaction } from "@/db/client";
import { erasedFiles } from "@/db/schema/erasure";
import { childExports, exportParts } from "@/db/schema/exports";
import { appendAudit } from "@/lib/audit/append";
import { openFolderStore } from "@/lib/media/folder-store";
import { openSecrets } from "@/lib/media/secrets";
import type { ByteRange, MediaStore } from "@/lib/media/store";
import { own, type ChildRef } from "@/lib/records/child-facts";

/** A younger file may be waiting for its row. */
const SETTLED_MS = 10 * 60_000;

const SHARED = Symbol.for("trueside.exports");
type Shared = { [SHARED]?: { readonly dir: string; readonly store: MediaStore } };

/** A folder of their own beside the pictures, under the same key: gone within a day, they belong into no backup. */
export function exportStore(): MediaStore {
  const shared = globalThis as Shared; // a symbol of our own on the global object
  const dir = dataDir();
  if (shared[SHARED]?.dir !== dir) shared[SHARED] = { dir, store: openFolderStore(join(dir, "exports"), { current: openSecrets(dir).mediaKey }) };
  return shared[SHARED].store;
}

/**
 * Ends every archive of one child that meets a condition, in the act that ends what it rests on: access, consent, or a
 * photo that is in it. Its parts are erased by `finishErasing`; who asks for it reads that it is gone.
 */
export function endExports(tx: Transaction, ref: ChildRef, which: SQL | undefined, now: number): void {
  const open = tx.select({ id: childExports.id }).from(childExports).where(and(own(childExports, ref), isNull(childExports.goneAt), which)).all();
  for (const { id } of open) letGo(tx, id, now);
}

/** For lib/records alone, inside an act. */
export function letGo(tx: Transaction, exportId: string, now: number): void {
  const gone = tx.update(childExports).set({ goneAt: now }).where(and(eq(childExports.id, exportId), isNull(childExports.goneAt))).returning({ familyId: childExports.familyId }).get();
  dropParts(tx, [exportId]);
  if (gone) {
    appendAudit(tx, { at: now, actorId: null, role: null, act: "export.gone", objectId: exportId, familyId: gone.familyId, outcome: "done", requestId: null, sessionHash: null });
  }
}

/** The rows go, the files wait for `finishErasing`, which a crash cannot make forget them. */
export function dropParts(tx: Transaction, exportIds: readonly string[]): void {
  for (const { fileId } of tx.delete(exportParts).where(inArray(exportParts.exportId, [...exportIds])).returning({ fileId: exportParts.fileId }).all()) {
    tx.insert(erasedFiles).values({ fileId }).onConflictDoNothing().run();
  }
}

export type Part = { readonly fileId: string; readonly byteLength: number };

export const partsOf = (exportId: string): readonly Part[] =>
  database().select({ fileId: exportParts.fileId, byteLength: exportParts.byteLength }).from(exportParts).where(eq(exportParts.exportId, exportId)).orderBy(asc(exportParts.ordinal)).all();

/** Reads over the joints of the parts. */
export async function readParts(parts: readonly Part[], { start, end }: ByteRange): Promise<Buffer> {
  const read: Buffer[] = [];
  let from = 0;
  for (const { fileId, byteLength } of parts) {
    const [first, last] = [Math.max(start - from, 0), Math.min(end - from, byteLength)];
    if (first < last) read.push(await exportStore().read(fileId, { start: first, end: last }));
    from += byteLength;
  }
  return Buffer.concat(read);
}

/** Files that a crash left without a row; where nobody can be writing one, also those of a moment ago. */
export async function sweepExports(db: Database, now: number, settledMs = SETTLED_MS): Promise<void> {
  await exportStore().clearUnfinished(now - settledMs);
  const known = new Set(db.select({ fileId: exportParts.fileId }).from(exportParts).all().map(({ fileId }) => fileId));
  for await (const { fileId, storedAtMs } of exportStore().list()) {
    if (!known.has(fileId) && storedAtMs < now - settledMs) await exportStore().erase(fileId);
  }
}
