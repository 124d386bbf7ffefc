import { randomBytes } from "node:crypto";
import * as fc from "fast-check";
import { describe, expect, it } from "vitest";
import { uuidOf } from "@/lib/archive/uuid";
import { html } from "@/lib/archive/html";
import { crc32, ZipTooLarge, zipWriter } from "@/lib/archive/zip";
import { readZip } from "@/tests/records/read-zip";

const AT = Date.UTC(2026, 2, 4, 10, 30, 42);

async function zipped(files: readonly (readonly [string, Uint8Array])[]): Promise<Buffer> {
  const pieces: Uint8Array[] = [];
  const zip = zipWriter(async (bytes) => void pieces.push(bytes), AT);
  for (const [path, bytes] of files) await zip.add(path, bytes);
  await zip.end();
  return Buffer.concat(pieces);
}

describe("CRC-32", () => {
  // The check value that catalogues of CRC parameters give for CRC-32/ISO-HDLC: of "123456789". From memory.
  it("of the nine digits is 0xCBF43926, and of nothing 0", () => {
    expect(crc32(Buffer.from("123456789"))).toBe(0xcbf43926);
    expect(crc32(Buffer.alloc(0))).toBe(0);
  });
});

describe("an archive", () => {
  it("gives back to another reader what was put in, under any name, in order", async () => {
    const name = fc.stringMatching(/^[\p{L}\p{N} _.-]{1,20}$/u).filter((text) => text.trim() !== "" && !/^\.+$/.test(text));
    await fc.assert(fc.asyncProperty(fc.uniqueArray(fc.tuple(name, fc.uint8Array({ maxLength: 2000 })), { maxLength: 12, selector: ([path]) => path }), async (files) => {
      expect([...(await readZip(await zipped(files)))].map(([path, bytes]) => [path, [...bytes]])).toEqual(files.map(([path, bytes]) => [path, [...bytes]]));
    }), { numRuns: 60 });
  });

  it("is found damaged by another reader when one byte of a picture is another", async () => {
    const bytes = await zipped([["a.jpg", randomBytes(500)]]);
    bytes.writeUInt8(bytes.readUInt8(100) ^ 1, 100);
    await expect(readZip(bytes)).rejects.toThrow("damaged: a.jpg");
  });

  it("refuses what would need the 64-bit form, rather than write what nobody can open", async () => {
    const zip = zipWriter(async () => undefined, AT);
    const large = { length: 0xff_ff_ff_ff } as Uint8Array; // never read: its length alone is too much
    await zip.add("small", Buffer.from("x"));
    Object.defineProperty(large, Symbol.iterator, { value: function* none() { /* nothing to check */ } });
    await expect(zip.add("large", large)).rejects.toThrow(ZipTooLarge);
  });
});

it("markup holds whatever anybody typed as text", () => {
  expect(html`<p title="${`"><script>'&`}">${"<b>"}</p>`.markup).toBe("<p title=\"&quot;&gt;&lt;script&gt;&#39;&amp;\">&lt;b&gt;</p>");
});

it("names are UUIDs of version 8 and variant 1 (RFC 9562), the same for the same words", () => {
  for (const words of ["", "child 1", "person x"]) expect(uuidOf(words)).toMatch(/^[0-9a-f]{8}-[0-9a-f]{4}-8[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/);
  expect(uuidOf("a")).toBe(uuidOf("a"));
  expect(uuidOf("a")).not.toBe(uuidOf("b"));
});
