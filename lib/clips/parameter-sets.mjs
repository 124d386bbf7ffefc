/**
 * What of an H.264 or HEVC film is needed to play it, and no more. Both keep words beside the pictures: an encoder's
 * name and settings, a camera's position or its sound levels stand in "supplemental" units that no decoder needs.
 * ISO/IEC 14496-10 (H.264), 7.3 and annex D; ISO/IEC 23008-2 (HEVC), 7.3; ISO/IEC 14496-15 for how files hold them.
 */

/** Thrown for bytes that are not what they say. */
export class Broken extends Error {}

const AVC = { typeOf: (unit) => unit[0] & 31, words: [6], settings: [7, 8, 13] };
const HEVC = { typeOf: (unit) => (unit[0] >> 1) & 63, words: [39, 40], settings: [32, 33, 34] };
const KINDS = { avc: AVC, hevc: HEVC };

/** How many bytes say the length of each unit, by the decoder's settings. */
export const lengthBytes = (codec, settings) => (settings[codec === "avc" ? 4 : 21] & 3) + 1;

/** One frame without its supplemental units. */
export function bareFrame(codec, data, lengthSize) {
  const { typeOf, words } = KINDS[codec];
  const kept = [];
  let keptBytes = 0;
  for (let at = 0; at < data.length;) {
    let length = 0;
    for (let index = 0; index < lengthSize; index += 1) length = length * 256 + (data[at + index] ?? 0);
    const end = at + lengthSize + length;
    if (length === 0 || end > data.length) throw new Broken("a unit is longer than its frame");
    if (!words.includes(typeOf(data.subarray(at + lengthSize, end)))) {
      kept.push(data.subarray(at, end));
      keptBytes += end - at;
    }
    at = end;
  }
  if (keptBytes === data.length) return data;
  const bare = new Uint8Array(keptBytes);
  let at = 0;
  for (const unit of kept) {
    bare.set(unit, at);
    at += unit.length;
  }
  return bare;
}

/** The decoder's settings with their parameter sets alone. */
export const bareSettings = (codec, settings) => (codec === "avc" ? bareAvc(settings) : bareHevc(settings));

function bareAvc(bytes) {
  if (bytes.length < 7 || bytes[0] !== 1) throw new Broken("no decoder settings");
  const out = [...bytes.subarray(0, 5)];
  let at = 5;
  const sets = (mask) => {
    const count = bytes[at] & mask;
    out.push(bytes[at]);
    at += 1;
    for (let index = 0; index < count; index += 1) at = takeUnit(bytes, at, AVC, out);
  };
  sets(31);
  sets(255);
  // High profiles say chroma and depth once more, and may hold extensions of the first kind of set.
  if ([100, 110, 122, 144].includes(bytes[1]) && bytes.length >= at + 4) {
    out.push(...bytes.subarray(at, at + 3));
    at += 3;
    sets(255);
  }
  return new Uint8Array(out);
}

function bareHevc(bytes) {
  if (bytes.length < 23 || bytes[0] !== 1) throw new Broken("no decoder settings");
  const arrays = [];
  let at = 23;
  for (let index = 0; index < bytes[22]; index += 1) {
    const type = bytes[at] & 63;
    const count = bytes[at + 1] * 256 + bytes[at + 2];
    const array = [bytes[at], bytes[at + 1], bytes[at + 2]];
    at += 3;
    for (let unit = 0; unit < count; unit += 1) at = takeUnit(bytes, at, HEVC.settings.includes(type) ? HEVC : null, array);
    if (HEVC.settings.includes(type)) arrays.push(array);
  }
  return new Uint8Array([...bytes.subarray(0, 22), arrays.length, ...arrays.flat()]);
}

/** Copies one unit with its two bytes of length; gives where the next begins. */
function takeUnit(bytes, at, kind, out) {
  const end = at + 2 + bytes[at] * 256 + bytes[at + 1];
  if (!(end > at + 2 && end <= bytes.length)) throw new Broken("a set is longer than the settings");
  if (kind && !kind.settings.includes(kind.typeOf(bytes.subarray(at + 2, end)))) throw new Broken("a set of another kind");
  out.push(...bytes.subarray(at, end));
  return end;
}
