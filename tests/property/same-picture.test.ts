import * as fc from "fast-check";
import { expect, it } from "vitest";
import { HASH_PARTS, maybeSamePicture, samePictureParts } from "@/lib/domain/photo/perceptual-hash";

const hash = fc.array(fc.integer({ min: 0, max: 15 }), { minLength: 16, maxLength: 16 }).map((digits) => digits.map((digit) => digit.toString(16)).join(""));
const bits = fc.uniqueArray(fc.integer({ min: 0, max: 63 }), { maxLength: 7 });

/** The same hash with some of its 64 bits turned over. */
const turned = (of: string, at: readonly number[]): string => at.reduce((text, bit) => {
  const digit = Math.floor(bit / 4);
  return text.slice(0, digit) + (Number.parseInt(text.charAt(digit), 16) ^ (8 >> bit % 4)).toString(16) + text.slice(digit + 1);
}, of);

it("finds by one part whatever it calls the same picture", () => {
  fc.assert(fc.property(hash, bits, (one, at) => {
    const other = turned(one, at);
    const isFound = HASH_PARTS.some(({ from, digits }, part) => samePictureParts(one)[part]?.includes(other.slice(from, from + digits)));
    if (maybeSamePicture(one, other)) expect(isFound).toBe(true);
  }), { numRuns: 3000 });
});

it("covers the whole hash, and looks for nothing that is too plain to compare", () => {
  expect(HASH_PARTS.map(({ from }) => from)).toEqual([0, 6, 11]);
  expect(HASH_PARTS.reduce((sum, { digits }) => sum + digits, 0)).toBe(16);
  expect(samePictureParts("0000000000000007")).toEqual([[], [], []]);
  expect(samePictureParts("0123456789abcdef").map((part) => [part[0], part.length])).toEqual([["012345", 25], ["6789a", 21], ["bcdef", 21]]);
});
