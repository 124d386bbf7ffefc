import "server-only";
import { randomBytes } from "node:crypto";
import { rmSync, statSync, truncateSync } from "node:fs";
import { open, rename } from "node:fs/promises";
import { join } from "node:path";
import { dataDir } from "@/db/client";
import { isLow, isTooFullToErase, RESERVE_BYTES } from "@/lib/domain/upkeep/space";
import { DISK } from "@/lib/media/space";

export const RESERVE_FILE = "reserve";
const STEP_BYTES = 1024 * 1024;

const pathIn = (folder: string): string => join(folder, RESERVE_FILE);
const sizeIn = (folder: string): number => statSync(pathIn(folder), { throwIfNoEntry: false })?.size ?? 0;

/** Puts the reserve there whole while there is plenty of room; noise, since a disk may store zeros as nothing. */
export async function keepReserve(folder: string): Promise<void> {
  const space = DISK.space(folder);
  if (sizeIn(folder) === RESERVE_BYTES || isLow({ ...space, freeBytes: space.freeBytes - RESERVE_BYTES })) return;
  const aside = `${pathIn(folder)}.new`;
  const file = await open(aside, "w", 0o600);
  try {
    const noise = randomBytes(STEP_BYTES);
    for (let written = 0; written < RESERVE_BYTES; written += STEP_BYTES) await file.write(noise);
    await file.sync();
  } finally {
    await file.close();
  }
  await rename(aside, pathIn(folder));
}

/** Gives up the half that is for what people write, once. True when that made room. */
export function giveHalf(folder: string): boolean {
  if (sizeIn(folder) <= RESERVE_BYTES / 2) return false;
  truncateSync(pathIn(folder), RESERVE_BYTES / 2);
  note("half");
  return true;
}

/** Called before an erasure: gives up all that is left of the reserve when there would be no room to begin one. */
export function roomToErase(): void {
  const folder = dataDir();
  if (sizeIn(folder) === 0 || !isTooFullToErase(DISK.space(folder))) return;
  rmSync(pathIn(folder), { force: true });
  note("all");
}

const note = (given: "half" | "all"): void => void process.stderr.write(`${JSON.stringify({ at: new Date().toISOString(), event: "reserve-given", given })}\n`);
