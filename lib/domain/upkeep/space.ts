/** Of the volume that holds the data folder; what root alone may still write is not free. */
export type Space = { readonly freeBytes: number; readonly totalBytes: number };

/** A tenth of the volume, and of a large one no more than this: years of photos. */
const MOST_KEPT_FREE = 10e9;

/** So much stays free for words, answers and sign-in: below it nothing large is taken in any more. The figures are ours. */
export const isLow = ({ freeBytes, totalBytes }: Space): boolean => freeBytes < Math.min(totalBytes / 10, MOST_KEPT_FREE);

/** Kept in a file, and given up when the disk is full all the same: half for what people write, the rest for erasing. */
export const RESERVE_BYTES = 64 * 1024 * 1024;

/** Erasing writes before it frees: into the log of the database, and a tombstone. */
export const isTooFullToErase = ({ freeBytes }: Space): boolean => freeBytes < RESERVE_BYTES / 2;
