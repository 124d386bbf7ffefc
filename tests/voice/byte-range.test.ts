import { randomBytes } from "node:crypto";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import * as fc from "fast-check";
import { describe, expect, test } from "vitest";
import { answerOf, streamOf, wantedRange } from "@/lib/media/byte-range";
import { openFolderStore } from "@/lib/media/folder-store";
import type { ByteRange } from "@/lib/media/store";

describe("the range asked for", () => {
  // The examples of RFC 9110, 14.1.2, for a representation of 10000 bytes.
  test.each([
    ["bytes=0-499", { start: 0, end: 500 }],
    ["bytes=500-999", { start: 500, end: 1000 }],
    ["bytes=-500", { start: 9500, end: 10_000 }],
    ["bytes=9500-", { start: 9500, end: 10_000 }],
  ])("%s of 10000, as the standard has it", (header, range) => {
    expect(wantedRange(header, 10_000)).toEqual(range);
  });

  test.each([
    // A last position at or past the end means the end; a suffix longer than the file, all of it (14.1.2).
    ["bytes=0-", { start: 0, end: 100 }], ["bytes=0-99", { start: 0, end: 100 }], ["bytes=0-9999", { start: 0, end: 100 }], ["bytes=-500", { start: 0, end: 100 }],
    ["bytes=0-0", { start: 0, end: 1 }], ["bytes=99-", { start: 99, end: 100 }], ["bytes=-1", { start: 99, end: 100 }], ["Bytes= 1-2 ", { start: 1, end: 3 }],
    // First position past the end, or a suffix of nothing: not satisfiable (14.1.2).
    ["bytes=100-", "unsatisfiable"], ["bytes=999999-", "unsatisfiable"], ["bytes=-0", "unsatisfiable"],
    // Invalid, or a set of several: may be rejected (14.2).
    ["bytes=5-2", "unsatisfiable"], ["bytes=", "unsatisfiable"], ["bytes=-", "unsatisfiable"], ["bytes=a-b", "unsatisfiable"], ["bytes=0-1,5-6", "unsatisfiable"],
    [`bytes=${Array.from({ length: 100 }, (_, at) => `${at}-${at}`).join(",")}`, "unsatisfiable"], ["bytes=0-9999999999999999999999", "unsatisfiable"],
    // A unit that is not understood must be ignored (14.2).
    ["items=0-5", "whole"], ["nonsense", "whole"], [null, "whole"],
  ])("%s of 100", (header, wanted) => {
    expect(wantedRange(header, 100)).toEqual(wanted);
  });

  test("what is served lies in the file, whatever is sent", () => {
    fc.assert(fc.property(fc.oneof(fc.string(), fc.stringMatching(/^bytes=\d{0,4}-\d{0,4}$/)), fc.integer({ min: 1, max: 3000 }), (header, length) => {
      const wanted = wantedRange(header, length);
      if (typeof wanted === "string") return;
      expect(wanted.start).toBeGreaterThanOrEqual(0);
      expect(wanted.end).toBeGreaterThan(wanted.start);
      expect(wanted.end).toBeLessThanOrEqual(length);
    }));
  });
});

describe("the answer", () => {
  const answer = (sent: Record<string, string>) => answerOf(new Headers(sent), 100, '"tag"');

  test("whole, in part, and where there is nothing", () => {
    expect(answer({})).toEqual({ status: 200, range: { start: 0, end: 100 }, headers: { "Accept-Ranges": "bytes" } });
    expect(answer({ Range: "bytes=10-19" })).toEqual({
      status: 206, range: { start: 10, end: 20 }, headers: { "Accept-Ranges": "bytes", "Content-Range": "bytes 10-19/100" },
    });
    // 15.5.17: a 416 says how long the file is.
    expect(answer({ Range: "bytes=100-" })).toMatchObject({ status: 416, headers: { "Content-Range": "bytes */100" } });
  });

  test("If-Range holds for this very file and by a strong tag alone", () => {
    expect(answer({ Range: "bytes=10-19", "If-Range": '"tag"' }).status).toBe(206);
    for (const other of ['"other"', 'W/"tag"', "Wed, 25 Nov 2026 10:00:00 GMT"]) expect(answer({ Range: "bytes=10-19", "If-Range": other }).status).toBe(200);
  });
});

describe("the stream", () => {
  const collect = async (stream: ReadableStream<Uint8Array>) => Buffer.from(await new Response(stream).arrayBuffer());

  test("gives every range of a sealed file byte for byte, and opens no more than it must", async () => {
    const folder = mkdtempSync(join(tmpdir(), "trueside-range-"));
    const store = openFolderStore(folder, { current: randomBytes(32) });
    const plain = randomBytes(700_001);
    const { fileId } = await store.put(plain);
    for (const [start, end] of [[0, 700_001], [0, 1], [65_535, 65_537], [262_143, 262_145], [700_000, 700_001], [300_000, 600_000]] as const) {
      const opened: ByteRange[] = [];
      const stream = await streamOf({ start, end }, (range) => {
        opened.push(range);
        return store.read(fileId, range);
      });
      expect(await collect(stream)).toEqual(plain.subarray(start, end));
      expect(opened.reduce((sum, range) => sum + range.end - range.start, 0)).toBe(end - start);
    }
    rmSync(folder, { recursive: true });
  });

  test("stops opening when nobody takes any more", async () => {
    let opened = 0;
    const stream = await streamOf({ start: 0, end: 6_000_000 }, async ({ start, end }) => {
      opened += 1;
      return Buffer.alloc(end - start);
    });
    const reader = stream.getReader();
    await reader.read();
    await reader.cancel();
    expect(opened).toBeLessThanOrEqual(2);
  });

  test("a damaged file is an error before the answer begins", async () => {
    await expect(streamOf({ start: 0, end: 10 }, async () => Promise.reject(new Error("media damaged")))).rejects.toThrow("damaged");
  });
});
