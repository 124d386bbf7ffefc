import { createHash } from "node:crypto";
import * as fc from "fast-check";
import { expect, it } from "vitest";
import { encodeFrame, frameReader } from "@/lib/photos/frames.mjs";
import { receive } from "@/lib/photos/receive";

const bytes = fc.uint8Array({ maxLength: 300 }).map((each) => Buffer.from(each));

function* cutUp(whole: Buffer, lengths: readonly number[]): Generator<Buffer> {
  for (let from = 0, turn = 0; from < whole.length; turn += 1) {
    const length = lengths[turn % lengths.length] ?? 1;
    yield whole.subarray(from, from + length);
    from += length;
  }
}
const lengths = fc.array(fc.integer({ min: 1, max: 90 }), { minLength: 1, maxLength: 8 });

it("frames come out as they went in, however the pipe cuts them, empty parts and frames without any included", () => {
  const frame = fc.record({ header: fc.record({ operation: fc.string() }), parts: fc.array(bytes, { maxLength: 4 }) });
  fc.assert(fc.property(fc.array(frame, { maxLength: 5 }), lengths, (frames, cuts) => {
    const sent = Buffer.concat(frames.flatMap(({ header, parts }) => encodeFrame(header, parts)));
    const got: { header: unknown; parts: readonly string[] }[] = [];
    const read = frameReader((header, parts) => got.push({ header, parts: parts.map((part) => part.toString("hex")) }));
    for (const chunk of cutUp(sent, cuts)) read(chunk);
    expect(got).toEqual(frames.map(({ header, parts }) => ({ header: { ...header, parts: parts.map(({ length }) => length) }, parts: parts.map((part) => part.toString("hex")) })));
  }));
});

it("a body is kept byte for byte, whatever was said of its length, or refused", async () => {
  const limits = { maxBytes: 200, cutBytes: 250 };
  await fc.assert(fc.asyncProperty(bytes, lengths, fc.option(fc.integer({ min: 1, max: 240 }), { nil: undefined }), async (body, cuts, said) => {
    const stream = (async function* () {
      yield* cutUp(body, cuts);
    })();
    const result = await receive(stream, said === undefined ? {} : { length: said }, limits);
    const refused = body.length > 200 ? "photo-too-large" : body.length === 0 ? "photo-empty" : said !== undefined && said !== body.length ? "photo-length-mismatch" : null;
    expect(result.ok ? null : result.problem.code).toBe(refused);
    if (!result.ok) return;
    expect(result.value.bytes.equals(body)).toBe(true);
    expect(result.value.sha256).toBe(createHash("sha256").update(body).digest("hex"));
  }));
});
