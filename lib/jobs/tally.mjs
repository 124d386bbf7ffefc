/** Plain JavaScript, because the server around the app counts too, before anything is compiled. */
const SHARED = Symbol.for("trueside.tally");
/** Counted by the second and kept this long. */
const KEPT_MS = 15 * 60_000;

/** @typedef {"answered" | "failed" | "decoder-stopped"} Tallied */

/** @param {Tallied} what @param {number} [now] */
export function tally(what, now = Date.now()) {
  const counts = countsOf(what);
  const second = Math.floor(now / 1000);
  if (!counts.has(second)) {
    for (const old of counts.keys()) if (old * 1000 < now - KEPT_MS) counts.delete(old);
  }
  counts.set(second, (counts.get(second) ?? 0) + 1);
}

/** @param {Tallied} what @param {number} from later than this, UTC ms @returns {number} */
export function talliedSince(what, from) {
  let sum = 0;
  for (const [second, count] of countsOf(what)) if (second * 1000 > from) sum += count;
  return sum;
}

/** @param {Tallied} what @returns {Map<number, number>} */
function countsOf(what) {
  const all = (globalThis[SHARED] ??= new Map());
  if (!all.has(what)) all.set(what, new Map());
  return all.get(what);
}
