import "server-only";
import { createHash } from "node:crypto";
import { setImmediate as othersFirst } from "node:timers/promises";
import { and, asc, eq, isNotNull, isNull, lt } from "drizzle-orm";
import { database, type Database } from "@/db/client";
import { erasedFiles } from "@/db/schema/erasure";
import { childExports, exportParts } from "@/db/schema/exports";
import type { ChildGrant } from "@/lib/access/grant";
import { laterGrant } from "@/lib/access/later-grant";
import { archivePage } from "@/lib/archive/page";
import { archiveTables } from "@/lib/archive/tables";
import { uuidOf } from "@/lib/archive/uuid";
import { zipWriter } from "@/lib/archive/zip";
import { appendAudit } from "@/lib/audit/append";
import { ChildRecord } from "@/lib/domain/archive/child-record.schema";
import { fhirBundle } from "@/lib/domain/archive/fhir";
import { runEvery } from "@/lib/jobs/run-every";
import { isUnreachable, MediaError } from "@/lib/media/store";
import { childArchive } from "@/lib/records/child-archive";
import { dropParts, exportStore, letGo, sweepExports } from "@/lib/records/export-files";
import { EXPORT_LIFE_MS } from "@/lib/records/exports";
import { mediaStore } from "@/lib/records/media";
import { finishErasing } from "@/lib/records/tombstones";

const EVERY_MS = 2000;
/** So many bytes are held before they are sealed and put down: more than the largest picture, far less than an archive. */
const PART_BYTES = 4 * 1024 * 1024;
/** What ends the process in the middle ends it again: then a person must look. */
const MOST_BEGUN = 4;
/** index.html, data.json, fhir.json and two tables. */
const PAGES = 5;
const GONE_KEPT_MS = 30 * 24 * 3_600_000;

type Row = typeof childExports.$inferSelect;

/** The archive stopped being wanted while it was made. */
class NoLongerWanted extends Error {
  override readonly name = "NoLongerWanted";
}

/**
 * In the serving process alone, one archive at a time. What a process that was killed left without a row goes first: the next
 * archive may be months away, and an erasure meanwhile would not know of it.
 */
export function startExports(): () => void {
  let isSwept = false;
  return runEvery("exports", EVERY_MS, async (now) => {
    if (!isSwept) await sweepExports(database(), now, 0);
    isSwept = true;
    await tendExports(database(), now);
  });
}

/** Lets go what is past its time, then makes what was asked for first. */
export async function tendExports(db: Database, now: number): Promise<void> {
  const over = db.select({ id: childExports.id }).from(childExports).where(and(isNull(childExports.goneAt), lt(childExports.madeAt, now - EXPORT_LIFE_MS))).all();
  for (const { id } of over) db.transaction((tx) => letGo(tx, id, now), { behavior: "immediate" });
  db.delete(childExports).where(and(isNotNull(childExports.goneAt), lt(childExports.goneAt, now - GONE_KEPT_MS))).run();
  if (db.select().from(erasedFiles).limit(1).get()) await finishErasing(db, mediaStore());
  const next = db.select().from(childExports).where(and(isNull(childExports.madeAt), isNull(childExports.failedAt), isNull(childExports.goneAt))).orderBy(asc(childExports.askedAt)).limit(1).get();
  if (next) await makeExport(db, next, now);
}

/** From the beginning, whatever a process that ended left of it. */
async function makeExport(db: Database, row: Row, now: number): Promise<void> {
  db.transaction((tx) => dropParts(tx, [row.id]), { behavior: "immediate" });
  await sweepExports(db, now);
  if (row.begun >= MOST_BEGUN) return fail(db, row, now);
  db.update(childExports).set({ begun: row.begun + 1, filesDone: 0 }).where(eq(childExports.id, row.id)).run();
  try {
    const asked = await laterGrant(row.askedBy, "export.ask", row.childId);
    if (!asked) throw new NoLongerWanted();
    await write(db, row, asked, now);
  } catch (error) {
    if (error instanceof NoLongerWanted) return db.transaction((tx) => letGo(tx, row.id, now), { behavior: "immediate" });
    if (row.begun + 1 >= MOST_BEGUN) fail(db, row, now);
    throw error;
  }
}

async function write(db: Database, row: Row, asked: ChildGrant<"export.ask">, now: number): Promise<void> {
  const { record, sources } = childArchive(asked, now);
  let filesDone = 0;
  const step = async (): Promise<void> => {
    filesDone += 1;
    const wanted = db.update(childExports).set({ filesDone }).where(and(eq(childExports.id, row.id), isNull(childExports.goneAt))).run();
    if (wanted.changes === 0) throw new NoLongerWanted();
    await othersFirst();
  };
  db.update(childExports).set({ filesToDo: sources.size + PAGES }).where(eq(childExports.id, row.id)).run();
  const parts = partWriter(db, row.id);
  const zip = zipWriter(parts.write, now);
  const unreadable: string[] = [];
  for (const [path, fileId] of sources) {
    const bytes = await readOrNull(fileId);
    if (bytes) await zip.add(path, bytes);
    else unreadable.push(path);
    await step();
  }
  for (const [path, text] of textsOf(ChildRecord.parse({ ...record, unreadable }), asked)) {
    await zip.add(path, Buffer.from(text, "utf8"));
    await step();
  }
  await zip.end();
  const { byteLength, sha256 } = await parts.end();
  db.transaction((tx) => {
    const made = tx.update(childExports).set({ madeAt: now, byteLength, sha256 }).where(and(eq(childExports.id, row.id), isNull(childExports.goneAt))).run();
    if (made.changes === 0) throw new NoLongerWanted();
    appendAudit(tx, { at: now, actorId: row.askedBy, role: asked.actor.role, act: "export.made", objectId: row.id, familyId: row.familyId, outcome: "done", requestId: asked.actor.requestId, sessionHash: null });
  }, { behavior: "immediate" });
}

function textsOf(record: ChildRecord, { actor }: ChildGrant<"export.ask">): readonly (readonly [path: string, text: string])[] {
  return [
    ["index.html", archivePage(record, actor.reader)],
    ["data.json", JSON.stringify(record, null, 1)],
    ["fhir.json", JSON.stringify(fhirBundle(record, uuidOf), null, 1)],
    ...Object.entries(archiveTables(record)),
  ];
}

/** A file that is damaged or gone is said in the archive; the rest of it is not withheld for that. */
async function readOrNull(fileId: string): Promise<Buffer | null> {
  try {
    return await mediaStore().read(fileId);
  } catch (error) {
    // What cannot be reached is there: the archive is begun again instead of going without it.
    if (error instanceof MediaError && !isUnreachable(error)) return null;
    throw error;
  }
}

/** The archive in pieces of some megabytes, each sealed and synced before its row is written. */
function partWriter(db: Database, exportId: string): { write(bytes: Uint8Array): Promise<void>; end(): Promise<{ readonly byteLength: number; readonly sha256: string }> } {
  const hash = createHash("sha256");
  let held: Uint8Array[] = [];
  let [heldBytes, byteLength, ordinal] = [0, 0, 0];
  const flush = async (): Promise<void> => {
    if (heldBytes === 0) return;
    const { fileId, byteLength: length } = await exportStore().put(Buffer.concat(held));
    [held, heldBytes] = [[], 0];
    const isWanted = db.transaction((tx) => {
      const open = tx.select({ id: childExports.id }).from(childExports).where(and(eq(childExports.id, exportId), isNull(childExports.goneAt))).get();
      if (open) tx.insert(exportParts).values({ exportId, ordinal, fileId, byteLength: length }).run();
      return open !== undefined;
    }, { behavior: "immediate" });
    ordinal += 1;
    if (isWanted) return;
    await exportStore().erase(fileId);
    throw new NoLongerWanted();
  };
  return {
    async write(bytes) {
      hash.update(bytes);
      held.push(bytes);
      heldBytes += bytes.length;
      byteLength += bytes.length;
      if (heldBytes >= PART_BYTES) await flush();
    },
    async end() {
      await flush();
      return { byteLength, sha256: hash.digest("hex") };
    },
  };
}

function fail(db: Database, row: Row, now: number): void {
  db.transaction((tx) => {
    dropParts(tx, [row.id]);
    tx.update(childExports).set({ failedAt: now }).where(and(eq(childExports.id, row.id), isNull(childExports.goneAt))).run();
    appendAudit(tx, { at: now, actorId: row.askedBy, role: null, act: "export.made", objectId: row.id, familyId: row.familyId, outcome: "refused", requestId: null, sessionHash: null });
  }, { behavior: "immediate" });
}
