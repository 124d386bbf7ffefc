import "server-only";
import { statfsSync } from "node:fs";
import { dataDir, isDatabaseFull } from "@/db/client";
import { isLow, type Space } from "@/lib/domain/upkeep/space";
import { codeOf } from "@/lib/media/durable";
import { isUnreachable, MediaError } from "@/lib/media/store";

/** An object, so that a test can say how full a disk is. */
export const DISK = {
  space(folder: string): Space {
    const { bsize, bavail, blocks } = statfsSync(folder);
    return { freeBytes: bavail * bsize, totalBytes: blocks * bsize };
  },
};

/** Asked before anything large is read, let alone kept. */
export const isDiskLow = (): boolean => isLow(DISK.space(dataDir()));

/** What to refuse with when media could not be kept or read: nothing that a person can have caused, and nothing that is lost by it. */
export const storageRefusal = (error: unknown): "storage-full" | "storage-away" | null =>
  isDiskFull(error) ? "storage-full" : isUnreachable(error) ? "storage-away" : null;

/** Whether a write failed because nothing more fits, into a file or into the database. */
export const isDiskFull = (error: unknown): boolean =>
  (error instanceof MediaError && error.fault === "disk-full") || ["ENOSPC", "EDQUOT"].includes(codeOf(error)) || isDatabaseFull(error);
