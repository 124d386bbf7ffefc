import "server-only";

/** A statement takes only so many values; this many things are asked for at once, three values each. */
const AT_ONCE = 1000;

/** What a read gives for many things, a thousand at a time. For lib/records alone. */
export function inChunks<T, R>(all: readonly T[], read: (some: T[]) => readonly R[]): readonly R[] {
  const found: R[] = [];
  for (let at = 0; at < all.length; at += AT_ONCE) for (const each of read(all.slice(at, at + AT_ONCE))) found.push(each);
  return found;
}
