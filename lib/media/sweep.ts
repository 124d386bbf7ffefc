import type { MediaStore } from "@/lib/media/store";

export type Swept = {
  /** Files without a row, removed. */
  readonly removed: readonly string[];
  /** Rows without a file: something was lost, and a person must know. */
  readonly missing: readonly string[];
  /** Files without a row, left alone because they are too many for crashes to explain. */
  readonly held: readonly string[];
};

/** More orphans than this, and more than a tenth of all files, look like a wrong or old database. */
const USUAL_ORPHANS = 20;

/**
 * Run at start-up: removes files that no row knows and that are older than the given instant
 * (milliseconds UTC; younger ones may be waiting for their row), and reports rows without files.
 */
export async function sweep(store: MediaStore, knownIds: Iterable<string>, olderThanMs: number): Promise<Swept> {
  await store.clearUnfinished(olderThanMs);
  const unseen = new Set(knownIds);
  const known = new Set(unseen);
  const orphans: string[] = [];
  let count = 0;
  for await (const { fileId, storedAtMs } of store.list()) {
    count += 1;
    unseen.delete(fileId);
    if (!known.has(fileId) && storedAtMs < olderThanMs) orphans.push(fileId);
  }
  const isSuspicious = orphans.length > USUAL_ORPHANS && orphans.length > count / 10;
  if (isSuspicious) return { removed: [], missing: [...unseen], held: orphans };
  for (const fileId of orphans) await store.erase(fileId);
  return { removed: orphans, missing: [...unseen], held: [] };
}
