import { execFileSync } from "node:child_process";
import { createHash } from "node:crypto";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { takeInClip } from "@/lib/clips/intake";
import type { PreparedClip } from "@/lib/clips/prepared";
import { CLIP_LIMITS } from "@/lib/domain/clip/limits";
import type { Result } from "@/lib/domain/result";
import { DecoderPool } from "@/lib/photos/decoder-pool";
import { PHOTO_LIMITS } from "@/lib/photos/limits";
import { FILMS, filmed, filmsOf, lasting } from "@/tests/clips/films";
import { boxesOf, elementsOf, type Part } from "@/tests/voice/containers";
import { box, inMoov, phoneAtoms, strayBoxes, toneMp4, toneWebm, topBox } from "@/tests/voice/recordings";

const pool = new DecoderPool("clips");
const take = (bytes: Buffer) => takeInClip(bytes, pool);
beforeAll(() => pool.warm());
afterAll(() => pool.close());

async function taken(bytes: Buffer): Promise<PreparedClip> {
  const result = await take(bytes);
  if (!result.ok) throw new Error(result.problem.code);
  return result.value;
}
const codeOf = (result: Result<unknown>) => (result.ok ? "taken in" : result.problem.code);
const sha256 = (bytes: Uint8Array) => createHash("sha256").update(bytes).digest("hex");
const pathsOf = (parts: readonly Part[]) => [...new Set(parts.map((part) => part.path))];
const bodyOf = (parts: readonly Part[], path: string) => parts.find((part) => part.path === path)?.body ?? Buffer.alloc(0);

/** Everything a clip may consist of, and nothing else. */
const STBL = "moov/trak/mdia/minf/stbl";
const BOXES = [
  "ftyp", "moov", "moov/mvhd", "moov/trak", "moov/trak/tkhd", "moov/trak/edts", "moov/trak/edts/elst", "moov/trak/mdia", "moov/trak/mdia/mdhd", "moov/trak/mdia/hdlr",
  "moov/trak/mdia/minf", "moov/trak/mdia/minf/vmhd", "moov/trak/mdia/minf/dinf", "moov/trak/mdia/minf/dinf/dref", "moov/trak/mdia/minf/dinf/dref/url ", STBL, `${STBL}/stsd`,
  ...["avc1", "avc1/avcC", "hvc1", "hvc1/hvcC"].map((name) => `${STBL}/stsd/${name}`),
  ...["avc1", "hvc1"].flatMap((name) => ["colr", "pasp", "btrt"].map((part) => `${STBL}/stsd/${name}/${part}`)),
  ...["stts", "stss", "ctts", "cslg", "stsc", "stsz", "stco"].map((name) => `${STBL}/${name}`), "mdat",
];
const TRACK = "Segment/Tracks/TrackEntry";
const CUE = "Segment/Cues/CuePoint";
const ELEMENTS = [
  "EBML", ...["EBMLVersion", "EBMLReadVersion", "EBMLMaxIDLength", "EBMLMaxSizeLength", "DocType", "DocTypeVersion", "DocTypeReadVersion"].map((name) => `EBML/${name}`),
  "Segment", "Segment/SeekHead", "Segment/SeekHead/Seek", "Segment/SeekHead/Seek/SeekID", "Segment/SeekHead/Seek/SeekPosition",
  "Segment/Info", ...["TimestampScale", "MuxingApp", "WritingApp", "Duration"].map((name) => `Segment/Info/${name}`), "Segment/Tracks", TRACK,
  ...["TrackNumber", "TrackUID", "TrackType", "FlagLacing", "Language", "CodecID", "CodecPrivate", "Video", "Video/PixelWidth", "Video/PixelHeight", "Video/Colour", "Video/Colour/MatrixCoefficients",
    "Video/Colour/TransferCharacteristics", "Video/Colour/Primaries", "Video/Colour/Range"].map((name) => `${TRACK}/${name}`),
  "Segment/Cluster", "Segment/Cluster/Timestamp", "Segment/Cluster/SimpleBlock", "Segment/Cues", CUE,
  ...["CueTime", "CueTrackPositions", "CueTrackPositions/CueTrack", "CueTrackPositions/CueClusterPosition"].map((name) => `${CUE}/${name}`),
];
const partsOf = ({ container, bytes }: PreparedClip) => (container === "webm" ? elementsOf(bytes) : boxesOf(bytes));
const strangersIn = (clip: PreparedClip) => pathsOf(partsOf(clip)).filter((path) => !(clip.container === "webm" ? ELEMENTS : BOXES).includes(path));

/** Planted by us, and how the encoders sign inside the film. */
const WORDS = ["Left_side_for_Ida", "Planted", "+48.2082", "016.3738", "2016-03-24", "Lavf", "Lavc", "x264", "x265", "xmpmeta", "quicktime"];

describe("what is taken in", () => {
  const PLANTED_AT = Date.UTC(2016, 2, 24, 10, 11, 12);
  test.each([
    ["avc", "mp4", 240, 320, PLANTED_AT], ["hevc", "mp4", 320, 240, PLANTED_AT], ["vp8", "webm", 320, 240, PLANTED_AT], ["vp9", "webm", 320, 240, null],
  ] as const)("%s: upright, as long as it was filmed, and when", async (codec, container, width, height, at) => {
    const sent = FILMS[codec]();
    const clip = await taken(sent);
    expect(clip).toMatchObject({ container, codec, width, height, frames: 30, durationMs: 2000, mirroredFlag: false, receivedBytes: sent.length, sha256: sha256(sent) });
    expect(clip.takenAt).toEqual(at === null ? null : { at, zoneKnown: true });
  });

  test("every frame is there and nothing of it is changed but that the encoder's words are gone; no sound is", async () => {
    for (const sent of Object.values(FILMS).map((each) => each())) {
      const before = await filmsOf(sent);
      const after = await filmsOf((await taken(sent)).bytes);
      expect(after.sounds).toBe(0);
      expect(after.films.length).toBe(1);
      const [was, is] = [before.films[0], after.films[0]];
      expect(is?.codec).toBe(was?.codec);
      const pictures = (film: typeof was) => film?.packets.map(({ data, type }) => [type, sha256(withoutWords(film.codec, data))]);
      expect(pictures(is)).toEqual(pictures(was));
      expect(is?.packets.map(({ data }) => data.length)).toEqual(was?.packets.map(({ data }) => withoutWords(was.codec, data).length));
    }
    expect((await filmsOf(FILMS.avc())).sounds).toBe(1);
  });

  /** ISO/IEC 14496-10, table 7-1, and ISO/IEC 23008-2, table 7-1: units of type 6, 39 and 40, lengths in four bytes. */
  function withoutWords(codec: string, data: Uint8Array): Buffer {
    const bytes = Buffer.from(data);
    if (codec !== "avc" && codec !== "hevc") return bytes;
    const kept: Buffer[] = [];
    for (let at = 0; at < bytes.length; at += 4 + bytes.readUInt32BE(at)) {
      const first = bytes[at + 4] ?? 0;
      if (codec === "avc" ? (first & 31) !== 6 : ![39, 40].includes((first >> 1) & 63)) kept.push(bytes.subarray(at, at + 4 + bytes.readUInt32BE(at)));
    }
    return Buffer.concat(kept);
  }

  test("one that its phone wrote anew already comes out as it is, byte for byte", async () => {
    for (const sent of Object.values(FILMS).map((each) => each())) {
      const onPhone = (await taken(sent)).bytes;
      expect((await taken(onPhone)).bytes).toEqual(onPhone);
    }
  });

  test("the turn that the phone wrote stays, in the track's matrix", async () => {
    // tkhd, version 0: the matrix stands at 40 (14496-12, 8.3.2); its first four numbers turn.
    const turn = (file: Buffer) => {
      const matrix = bodyOf(boxesOf(file), "moov/trak/tkhd").subarray(40);
      return [0, 4, 12, 16].map((at) => matrix.readInt32BE(at) / 65_536);
    };
    expect(turn(FILMS.avc()).map(Math.abs)).toEqual([0, 1, 1, 0]);
    expect(turn((await taken(FILMS.avc())).bytes)).toEqual(turn(FILMS.avc()));
  });

  test("what was trimmed off the beginning in the gallery stays there", async () => {
    const whole = await lasting("mp4", 20, 0.1);
    expect((await taken(whole)).frames).toBe(20);
    // From one second in: ten frames stand before it, and each is a key frame.
    const trimmed = await taken(inTrak(whole, box("edts", box("elst", elst(1000, 1)))));
    expect(trimmed.frames).toBe(10);
    expect(trimmed.durationMs).toBe(1000);
  });

  const FILM_TICKS = 57_600;
  /** One edit: so long is shown, in the film's own thousandths, from so many seconds in (14496-12, 8.6.6). */
  function elst(duration: number, fromSeconds: number): Buffer {
    const body = Buffer.alloc(20);
    body.writeUInt32BE(1, 4);
    body.writeUInt32BE(duration, 8);
    body.writeUInt32BE(fromSeconds * FILM_TICKS, 12);
    body.writeUInt32BE(0x10000, 16);
    return body;
  }
  const withoutEdits = (trak: Buffer) => Buffer.concat(boxesOf(trak).filter(({ path }) => !path.includes("/") && path !== "edts").map(({ path, body }) => box(path, body)));
  function inTrak(file: Buffer, edit: Buffer): Buffer {
    const { at, size } = topBox(file, "moov");
    const inside = boxesOf(file).filter(({ path }) => /^moov\/[^/]+$/.test(path));
    expect(bodyOf(boxesOf(file), "moov/trak/mdia/mdhd").readUInt32BE(12)).toBe(FILM_TICKS);
    const parts = inside.map(({ path, body }) => (path === "moov/trak" ? box("trak", withoutEdits(body), edit) : box(path.slice(5), body)));
    // mdat stands before moov, so that nothing points elsewhere now.
    expect(topBox(file, "mdat").at).toBeLessThan(at);
    return Buffer.concat([file.subarray(0, at), box("moov", ...parts), file.subarray(at + size)]);
  }
});

describe("nothing of the phone survives", () => {
  test("MP4: no box but those that play, no date, no word, not even inside the film", async () => {
    const sent = Buffer.concat([inMoov(FILMS.avc(), phoneAtoms()), strayBoxes()]);
    for (const words of WORDS.filter((each) => !["x265", "quicktime"].includes(each))) expect(sent.includes(words), `${words} planted`).toBe(true);
    for (const clip of [await taken(sent), await taken(FILMS.hevc())]) {
      expect(strangersIn(clip)).toEqual([]);
      for (const words of WORDS) expect(clip.bytes.includes(words), words).toBe(false);
      const parts = boxesOf(clip.bytes);
      for (const path of ["moov/mvhd", "moov/trak/tkhd", "moov/trak/mdia/mdhd"]) {
        const body = bodyOf(parts, path);
        // Creation and modification stand at 4 and 8 of a version 0 header, at 4 and 12 of a version 1.
        expect(body.subarray(4, body[0] === 1 ? 20 : 12).every((byte) => byte === 0), path).toBe(true);
      }
    }
    for (const words of ["x265", "Planted", "quicktime"]) expect(FILMS.hevc().includes(words), `${words} planted`).toBe(true);
  });

  test("WebM: no element but those that play", async () => {
    for (const words of ["Left_side_for_Ida", "Planted", "Lavf"]) expect(FILMS.vp8().includes(words), `${words} planted`).toBe(true);
    for (const clip of [await taken(FILMS.vp8()), await taken(FILMS.vp9())]) {
      expect(strangersIn(clip)).toEqual([]);
      for (const words of WORDS) expect(clip.bytes.includes(words), words).toBe(false);
      // VP9's settings: four facts of three bytes each.
      expect(bodyOf(elementsOf(clip.bytes), `${TRACK}/CodecPrivate`).length).toBeLessThanOrEqual(12);
    }
  });

  test("two clips of the same film say the same of their writer", async () => {
    const writers = await Promise.all([FILMS.vp8(), FILMS.vp9()].map(async (sent) => {
      const parts = elementsOf((await taken(sent)).bytes);
      return ["Segment/Info/MuxingApp", "Segment/Info/WritingApp", `${TRACK}/Language`, `${TRACK}/TrackUID`].map((path) => bodyOf(parts, path).toString("latin1"));
    }));
    expect(writers[0]).toEqual(writers[1]);
  });
});

/** FFmpeg's own reader, where the machine has it: it must find the same film, and decode every frame of it without a word of complaint. */
const hasFfmpeg = (() => {
  try {
    execFileSync("ffmpeg", ["-version"], { stdio: "ignore" });
    return true;
  } catch {
    return false;
  }
})();
if (hasFfmpeg) {
  test("another reader decodes every frame, the same pictures as before", async () => {
    const folder = mkdtempSync(join(tmpdir(), "trueside-clips-"));
    for (const [name, film] of Object.entries(FILMS)) {
      const pictures = (bytes: Buffer) => {
        writeFileSync(join(folder, name), bytes);
        return execFileSync("ffmpeg", ["-v", "error", "-i", join(folder, name), "-an", "-fps_mode", "passthrough", "-f", "framemd5", "-"], { encoding: "utf8" })
          .split("\n").filter((line) => /^\d/.test(line)).map((line) => line.split(",").at(-1)?.trim());
      };
      const before = pictures(film());
      expect(before.length).toBe(30);
      expect(pictures((await taken(film())).bytes)).toEqual(before);
    }
    rmSync(folder, { recursive: true });
  });
}

describe("what is refused", () => {
  const avc = FILMS.avc();
  const renamed = (from: string, to: string) => {
    const file = Buffer.from(avc);
    file.write(to, file.indexOf(from), "latin1");
    return file;
  };
  const trak = () => boxesOf(avc).find((part) => part.path === "moov/trak")?.body ?? Buffer.alloc(0);

  test.each([
    ["nothing", () => Buffer.alloc(0), "clip-empty"],
    ["a page named .mp4", () => Buffer.from("<!doctype html><script>alert(1)</script>"), "clip-kind-refused"],
    ["a JPEG", () => Buffer.from([0xff, 0xd8, 0xff, 0xe0, 0, 16, 0x4a, 0x46, 0x49, 0x46]), "clip-kind-refused"],
    ["a HEIC picture", () => box("ftyp", Buffer.from("heic\0\0\0\0heic")), "clip-kind-refused"],
    ["a signature alone", () => Buffer.from([0x1a, 0x45, 0xdf, 0xa3]), "clip-damaged"],
    ["a first box alone", () => box("ftyp", Buffer.from("isom\0\0\0\0")), "clip-damaged"],
    ["sound in MP4", () => toneMp4(), "clip-no-film"],
    ["sound in WebM", () => toneWebm(), "clip-no-film"],
    ["a locked film", () => renamed("avc1\0\0", "encv\0\0"), "clip-encrypted"],
    ["a studio's codec", () => renamed("avc1\0\0", "apcn\0\0"), "clip-codec-refused"],
    ["the first half", () => avc.subarray(0, avc.length / 2), "clip-damaged"],
    ["a thousand tracks", () => inMoov(avc, ...Array.from({ length: 1000 }, () => box("trak", trak()))), "clip-many-tracks"],
  ])("%s", async (_name, bytes, code) => {
    expect(codeOf(await take(bytes()))).toBe(code);
  });

  test("a locked film in WebM, and one that asks to be turned, which players take differently", async () => {
    const part = (id: readonly number[], ...inside: readonly Buffer[]) => {
      const body = Buffer.concat(inside);
      return Buffer.concat([Buffer.from(id), Buffer.from([0x80 | body.length]), body]);
    };
    // RFC 9559, 5.1.4.1.31: ContentEncodings, a ContentEncoding, and in it ContentEncryption with its method, AES, or ContentCompression.
    const film = (encoding: Buffer) => Buffer.concat([part([0x1a, 0x45, 0xdf, 0xa3]), part([0x18, 0x53, 0x80, 0x67], part([0x16, 0x54, 0xae, 0x6b],
      part([0xae], part([0x83], Buffer.from([1])), part([0x6d, 0x80], part([0x62, 0x40], encoding)))))]);
    expect(codeOf(await take(film(part([0x50, 0x35], part([0x47, 0xe1], Buffer.from([5]))))))).toBe("clip-encrypted");
    expect(codeOf(await take(film(part([0x50, 0x34]))))).not.toBe("clip-encrypted");
    const { films } = await filmsOf(FILMS.vp8());
    expect(codeOf(await take(await filmed("webm", films)))).toBe("taken in");
    for (const shown of [{ rotation: 90 }, { rotation: 180 }, { flip: true }] as const) expect(codeOf(await take(await filmed("webm", films, shown)))).toBe("clip-codec-refused");
  });

  test("two films; frames for longer than 20 seconds; many frames in no time; frames far apart", async () => {
    const { films } = await filmsOf(FILMS.vp8());
    expect(codeOf(await take(await filmed("webm", [...films, ...films])))).toBe("clip-many-tracks");
    expect(codeOf(await take(await lasting("webm", 200, 0.1)))).toBe("taken in");
    expect(await take(await lasting("webm", 212, 0.1))).toMatchObject({ problem: { code: "clip-too-long", values: { seconds: 20 } } });
    expect(codeOf(await take(await lasting("mp4", 5100, 0.0001)))).toBe("clip-too-long");
    expect(codeOf(await take(await lasting("mp4", 3, 11)))).toBe("clip-too-long");
  });

  test("a side below what a photo needs, one moment of it being a photo", async () => {
    const { films: [film] } = await filmsOf(FILMS.vp8());
    if (!film) throw new Error("no film");
    const sized = (codedHeight: number) => filmed("webm", [{ ...film, config: { ...film.config, codedHeight } }]);
    expect(CLIP_LIMITS.minSide).toBe(PHOTO_LIMITS.minSide);
    expect(codeOf(await take(await sized(CLIP_LIMITS.minSide)))).toBe("taken in");
    expect(codeOf(await take(await sized(CLIP_LIMITS.minSide - 1)))).toBe("clip-size-refused");
  });

  test("sixty million bytes pass and one more does not", async () => {
    const filled = (length: number) => Buffer.concat([avc, box("free", Buffer.alloc(length - avc.length - 8))]);
    const clip = await taken(filled(CLIP_LIMITS.maxBytes));
    expect(clip.bytes.length).toBeLessThan(avc.length);
    expect(await take(filled(CLIP_LIMITS.maxBytes + 1))).toMatchObject({ problem: { code: "clip-too-big", values: { max: 60 } } });
  });
});

describe("a bad file costs one process and nothing else", () => {
  test("past time or memory it is refused, and the next one is taken", async () => {
    const long = await lasting("mp4", 4000, 0.005);
    for (const [timeLimitMs, memoryLimitMb, code] of [[1, 600, "clip-stopped"], [20_000, 20, "clip-stopped"], [20_000, 600, "taken in"]] as const) {
      const own = new DecoderPool("clips", { size: 1, waiting: 1, timeLimitMs, memoryLimitMb, replaceAboveMb: 250 });
      expect(codeOf(await takeInClip(long, own))).toBe(code);
      await own.close();
    }
  });

  test("a hundred broken clips: each is refused with a code or gives a clean one", async () => {
    const strict = new DecoderPool("clips", { size: 1, waiting: 1, timeLimitMs: 3000, memoryLimitMb: 600, replaceAboveMb: 250 });
    let state = 20_261_128;
    const next = (below: number) => {
      state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
      return Math.floor((state / 2 ** 32) * below);
    };
    const codes = new Map<string, number>();
    for (let round = 0; round < 100; round += 1) {
      const broken = Buffer.from(Object.values(FILMS)[round % 4]?.() ?? []);
      for (let flip = 0; flip < 1 + (round % 7); flip += 1) {
        const near = next(1200);
        broken[[next(broken.length), near, broken.length - 1 - near][next(3)] ?? 0] = next(256);
      }
      const result = await takeInClip(broken, strict);
      codes.set(codeOf(result), (codes.get(codeOf(result)) ?? 0) + 1);
      if (result.ok) expect(strangersIn(result.value), `round ${round}`).toEqual([]);
    }
    await strict.close();
    expect([...codes.keys()].filter((code) => code !== "taken in" && !code.startsWith("clip-"))).toEqual([]);
    expect(codes.get("taken in"), JSON.stringify([...codes])).toBeGreaterThan(12);
    expect(codes.get("clip-damaged"), JSON.stringify([...codes])).toBeGreaterThan(4);
  }, 60_000);
});
