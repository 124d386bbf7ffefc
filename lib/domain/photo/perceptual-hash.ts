import { shrink, type GreyImage } from "@/lib/domain/photo/grey";

/** Sixteen lower-case hexadecimal digits: 64 comparisons, first row first, first bit highest. */
export type PictureHash = string;

const COLUMNS = 9;
const ROWS = 8;

/**
 * Difference hash of a whole picture: shrunk by area to 9 × 8 greys, rounded, then compared.
 * Rounding lets noise on a plain wall fall into ties, so the phone and the server agree.
 */
export const pictureHash = (grey: GreyImage): PictureHash => differenceHash(shrink(grey, COLUMNS, ROWS).pixels);

/**
 * Difference hash of a ready 9 × 8 grid, row by row: a bit is 1 where a value is smaller than its
 * right-hand neighbour. Some libraries compare the other way: hashes are not interchangeable.
 * Throws unless there are 72 values.
 */
export function differenceHash(grid: ArrayLike<number>): PictureHash {
  if (grid.length !== COLUMNS * ROWS) throw new RangeError("A difference hash needs 9 × 8 values.");
  let hash = "";
  for (let row = 0; row < ROWS; row += 1) {
    let byte = 0;
    for (let column = 0; column < COLUMNS - 1; column += 1) {
      const at = row * COLUMNS + column;
      byte = byte * 2 + ((grid[at] ?? 0) < (grid[at + 1] ?? 0) ? 1 : 0);
    }
    hash += byte.toString(16).padStart(2, "0");
  }
  return hash;
}

/** How many of the 64 bits differ. Throws on anything that is no hash. */
export function hashDistance(a: PictureHash, b: PictureHash): number {
  if (!HASH.test(a) || !HASH.test(b)) throw new RangeError("A picture hash has 16 hexadecimal digits.");
  let distance = 0;
  for (const at of [0, 8]) {
    // Taking one off turns the lowest bit that is set and those below it.
    for (let bits = Number.parseInt(a.slice(at, at + 8), 16) ^ Number.parseInt(b.slice(at, at + 8), 16); bits !== 0; bits &= bits - 1) distance += 1;
  }
  return distance;
}

/**
 * At most this many differing bits point to the same picture. Common practice, no source: real
 * photos made smaller and compressed again differed by at most 2, unrelated ones by 19 or more.
 */
export const SAME_PICTURE_BITS = 5;

/**
 * Whether two hashes may come from the same picture, sent again or made smaller. Points it out,
 * proves nothing. A picture too plain to compare (fewer than 4 bits of either kind) is never
 * called the same.
 */
export function maybeSamePicture(a: PictureHash, b: PictureHash): boolean {
  const ones = hashDistance(a, "0000000000000000");
  if (ones < 4 || ones > 60) return false;
  return hashDistance(a, b) <= SAME_PICTURE_BITS;
}

/** Where each part of a hash begins and how many digits it has; the database finds pictures by each of them. */
export const HASH_PARTS = [{ from: 0, digits: 6 }, { from: 6, digits: 5 }, { from: 11, digits: 5 }] as const;

/**
 * For each part, what it reads in every hash that may be of the same picture and differs least there: itself, or
 * itself with one bit changed. Five differing bits cannot be two or more in each of three parts, so whatever
 * `maybeSamePicture` calls the same is among what agrees in one part at least. Empty for a picture too plain to compare.
 */
export function samePictureParts(hash: PictureHash): readonly (readonly string[])[] {
  if (!maybeSamePicture(hash, hash)) return HASH_PARTS.map(() => []);
  return HASH_PARTS.map(({ from, digits }) => {
    const part = Number.parseInt(hash.slice(from, from + digits), 16);
    const changed = Array.from({ length: digits * 4 }, (_, bit) => part ^ (1 << bit));
    return [part, ...changed].map((each) => each.toString(16).padStart(digits, "0"));
  });
}

const HASH = /^[0-9a-f]{16}$/;
