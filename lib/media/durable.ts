import "server-only";
import { mkdir, open, readdir } from "node:fs/promises";
import { dirname } from "node:path";

/** Back only when the bytes would survive a power cut; their name in the folder survives once `syncFolder` is back. */
export async function writeSynced(path: string, bytes: Buffer): Promise<void> {
  const file = await open(path, "wx", 0o600);
  try {
    await file.writeFile(bytes);
    await file.sync();
  } finally {
    await file.close();
  }
}

/**
 * A new folder is itself an entry that must survive: every parent that was made is synced. Step by step: Node's own
 * recursive mode never returns where the system makes no folders, as in /proc.
 */
export async function makeFolder(path: string): Promise<void> {
  const make = () => mkdir(path, { mode: 0o700 }).then(() => syncFolder(dirname(path)), (error: unknown) => {
    if (codeOf(error) !== "EEXIST") throw error;
  });
  await make().catch(async (error: unknown) => {
    if (codeOf(error) !== "ENOENT") throw error;
    await makeFolder(dirname(path));
    await make();
  });
}

export async function syncFolder(path: string): Promise<void> {
  const handle = await open(path, "r");
  await handle.sync().finally(() => handle.close());
}

export async function namesIn(path: string): Promise<string[]> {
  try {
    return await readdir(path);
  } catch (error) {
    if (codeOf(error) === "ENOENT") return [];
    throw error;
  }
}

/** The system's name of an error, such as ENOENT. */
export function codeOf(error: unknown): string {
  return error instanceof Error && "code" in error ? String(error.code) : "";
}
