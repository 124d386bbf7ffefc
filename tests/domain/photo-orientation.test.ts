import sharp, { type Sharp } from "sharp";
import { describe, expect, it } from "vitest";
import checks from "@/tests/checks/exif-orientation.json";
import { isMirrored, orientationOf, swapsSize, turnUpright, uprightSize } from "@/lib/domain/photo/orientation";

describe("EXIF orientation", () => {
  it("holds 8 rows", () => expect(checks.rows).toHaveLength(8));
  it.each(checks.rows)("$value: $pixel_map", (row) => {
    const orientation = orientationOf(row.value);
    expect(orientation).toBe(row.value);
    expect(isMirrored(orientation)).toBe(row.is_mirrored);
    expect(swapsSize(orientation)).toBe(row.swaps_width_height);
    const stored = { width: 3, height: 2 };
    const upright = turnUpright(Uint8Array.from(row.stored_3x2.flat()), stored, 1, orientation);
    expect([...upright]).toEqual(row.expected_display.flat());
    expect(uprightSize(stored, orientation)).toEqual({ width: row.expected_display[0]?.length, height: row.expected_display.length });
  });

  it.each([...checks.invalid, -1, 1.5, Number.NaN, "6", null, undefined])("%s counts as upright", (value) => {
    expect(orientationOf(value)).toBe(1);
  });

  it.each([1, 2, 3, 4, 5, 6, 7, 8])("turns a real photo as sharp does, orientation %i", async (value) => {
    // An independent implementation: libvips reads the flag and turns the picture itself.
    const file = await sharp("node_modules/jpeg-exif/test/IMG_0003.JPG").resize(61, 40).jpeg().withMetadata({ orientation: value }).toBuffer();
    const read = async (picture: Sharp) => picture.raw().toBuffer({ resolveWithObject: true });
    const stored = await read(sharp(file));
    const upright = await read(sharp(file).autoOrient());
    const size = { width: stored.info.width, height: stored.info.height };
    expect(size).toEqual({ width: 61, height: 40 });
    expect(uprightSize(size, orientationOf(value))).toEqual({ width: upright.info.width, height: upright.info.height });
    expect(Buffer.from(turnUpright(stored.data, size, 3, orientationOf(value))).equals(upright.data)).toBe(true);
  });

  it("refuses pixels that do not fill the size", () => {
    expect(() => turnUpright(new Uint8Array(5), { width: 3, height: 2 }, 1, 6)).toThrow(RangeError);
  });
});
