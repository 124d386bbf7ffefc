import moment from "moment-timezone";

/** The IANA release of the zone data this app ships, such as "2026f". */
export const ZONE_DATA_VERSION: string = moment.tz.dataVersion;

const NAMES: readonly string[] = moment.tz.names();
const KNOWN: ReadonlySet<string> = new Set(NAMES);

/** All zone names, sorted. */
export const zoneNames = (): readonly string[] => NAMES;

/** Exact IANA spelling only: "europe/london" is no zone. */
export const isZone = (name: string): boolean => KNOWN.has(name);

/** A stretch of time in which a zone kept one offset: `from` ≤ instant < `to`, local = UTC + offset. All ms. */
export type OffsetStretch = { readonly from: number; readonly to: number; readonly offset: number };

/** The stretches that touch [from, to), oldest first, at least one. Throws on a zone we do not know. */
export function offsetStretches(zone: string, from: number, to: number): readonly OffsetStretch[] {
  const all = stretchesOf(zone);
  const found: OffsetStretch[] = [];
  for (let at = firstEndingAfter(all, from); at < all.length; at += 1) {
    const stretch = all[at];
    if (!stretch || (found.length > 0 && stretch.from >= to)) break;
    found.push(stretch);
  }
  return found;
}

/** What to add to an instant for its local time, in ms. Throws on a zone we do not know. */
export function offsetAt(instant: number, zone: string): number {
  const all = stretchesOf(zone);
  return all[firstEndingAfter(all, instant)]?.offset ?? 0;
}

const read = new Map<string, readonly OffsetStretch[]>();

function stretchesOf(zone: string): readonly OffsetStretch[] {
  const kept = read.get(zone);
  if (kept) return kept;
  const rules = isZone(zone) ? moment.tz.zone(zone) : null;
  if (!rules) throw new RangeError("Unknown time zone.");
  let from = -Infinity;
  const all = rules.untils.map((until, at) => {
    // Their offsets are minutes to add to local time, west positive; ours the other way about, in ms.
    const stretch = { from, to: until ?? Infinity, offset: 0 - Math.round((rules.offsets[at] ?? 0) * 60_000) };
    from = stretch.to;
    return stretch;
  });
  read.set(zone, all);
  return all;
}

function firstEndingAfter(all: readonly OffsetStretch[], instant: number): number {
  if (!Number.isFinite(instant)) throw new RangeError("An instant is a finite number of milliseconds.");
  let [low, high] = [0, all.length - 1];
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((all[middle]?.to ?? Infinity) > instant) high = middle;
    else low = middle + 1;
  }
  return low;
}
