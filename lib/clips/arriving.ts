import "server-only";

/** What is held at once of all clips on their way, counted by what they said they will be; and how long one may stand still. */
const MOST_HELD_BYTES = 256_000_000;
const IDLE_MS = 15 * 60_000;

/** A clip of which not all has arrived. It is held in memory alone: what a phone filmed is never written to a disk as it came. */
export type Arriving = {
  readonly uploadId: string;
  readonly personId: string;
  readonly childId: string;
  readonly photoId: string;
  readonly length: number;
  /** When it was filmed, by the phone that took the file's own word out, epoch ms; null when nothing says it. */
  readonly takenAt: number | null;
  /** Quarters clockwise by which its photo was turned on the phone. */
  readonly turns: number;
  readonly pieces: Buffer[];
  offset: number;
  touchedAt: number;
  /** Its last piece is here and it is being opened. */
  isClosing: boolean;
};

// One table a process, whichever of the framework's bundles asks.
const shared = globalThis as typeof globalThis & { truesideArriving?: Map<string, Arriving> };
const table = (): Map<string, Arriving> => (shared.truesideArriving ??= new Map<string, Arriving>());

/** Those that stood still for too long go; the phone that comes back after that begins anew. */
function forgetIdle(now: number): void {
  for (const [uploadId, each] of table()) if (now - each.touchedAt > IDLE_MS && !each.isClosing) table().delete(uploadId);
}

/**
 * Makes room for one clip; a person sends one at a time, so that another of theirs gives way. The same again gives what is there.
 * Null: as much is on its way as may be.
 */
export function expectClip(said: Pick<Arriving, "uploadId" | "personId" | "childId" | "photoId" | "length" | "takenAt" | "turns">, now: number): Arriving | null {
  forgetIdle(now);
  const there = arrivingClip(said.uploadId, said, now);
  if (there) return there;
  if (table().has(said.uploadId)) return null;
  for (const [uploadId, each] of table()) if (each.personId === said.personId && !each.isClosing) table().delete(uploadId);
  const held = [...table().values()].reduce((sum, { length }) => sum + length, 0);
  if (held + said.length > MOST_HELD_BYTES) return null;
  const begun: Arriving = { ...said, pieces: [], offset: 0, touchedAt: now, isClosing: false };
  table().set(said.uploadId, begun);
  return begun;
}

/** What of this clip has arrived; null when nothing of it is held, or it is another person's or child's. */
export function arrivingClip(uploadId: string, of: Pick<Arriving, "personId" | "childId">, now: number): Arriving | null {
  forgetIdle(now);
  const there = table().get(uploadId);
  return there?.personId === of.personId && there.childId === of.childId ? there : null;
}

export const forgetClip = (uploadId: string): boolean => table().delete(uploadId);
