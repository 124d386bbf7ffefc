/**
 * The decoder: a child process that turns untrusted picture bytes into clean ones, so that a crash,
 * a memory bomb or an endless loop ends this process and nothing else. Plain JavaScript so that
 * app, commands and tests start the same file. It holds no secrets and opens no files but its libraries'.
 *
 *   node lib/photos/decoder.mjs photos  --memory-mb=1200    prepare and turn family photos
 *   node lib/photos/decoder.mjs marks   --memory-mb=1200    draw our own marks over our own JPEG
 *
 * `child.mjs` says how it is asked, bounded and ended.
 */
import { createRequire } from "node:module";
import zlib from "node:zlib";
import sharp from "sharp";
import { serveParent } from "./child.mjs";
import { CodeReader } from "./code-reader.mjs";
import { FINE_OPTIONS, READ_OPTIONS } from "./found-codes.mjs";
import { opaque } from "./opaque.mjs";

const require = createRequire(import.meta.url);
const exifr = require("exifr");

const MAX_PIXELS = 60e6;
const LARGEST_SIDE = 2048;
const MEASURED_SIDE = 1024;
const SMALLER_SIZES = [MEASURED_SIDE, 320];
const PLACEHOLDER_SIDE = 32;
/** Longest side at which a photo is opened, once: every size is made from that, and a side card looked for in it. */
const OPENED_SIDE = 4096;
/** A little more is opened as it is, since shrinking by so little costs more than it saves. */
const OPENED_AT_MOST = 4608;
/** By EXIF orientation less one: quarter turns clockwise to upright, of a picture that was flipped back where it is stored mirrored. */
const QUARTERS = [0, 0, 2, 2, 3, 1, 1, 3];
const STORED_MIRRORED = [2, 4, 5, 7];

const [mode, memory] = process.argv.slice(2);
const allowedLoaders = {
  photos: ["VipsForeignLoadJpeg", "VipsForeignLoadPng", "VipsForeignLoadWebp"],
  marks: ["VipsForeignLoadJpeg", "VipsForeignLoadSvg"],
}[mode];

sharp.block({ operation: ["VipsForeignLoad"] });
sharp.unblock({ operation: allowedLoaders });
sharp.cache(false);
// One thread each: two decoders already fill two cores, and each thread holds its own strip of pixels.
sharp.concurrency(1);

serveParent(memory, (request, parts) => OPERATIONS[mode][request.operation](request, parts), nameFault);

/** The libraries' own words may quote the file, so only our name for the fault leaves. */
function nameFault(error) {
  const words = String(error?.message);
  if (words.includes("pixel limit")) return "too-many-pixels";
  if (words.includes("timeout")) return "timeout";
  return "damaged";
}

const codes = new CodeReader();
const NO_CODES = { codes: [], width: 1, height: 1, orientation: 1 };

async function warm() {
  await codes.start();
  return { header: {}, parts: [] };
}

const OPERATIONS = {
  photos: { prepare, turn, warm },
  marks: { flatten, warm: async () => ({ header: {}, parts: [] }) },
};

const reading = (input) =>
  sharp(input, { limitInputPixels: MAX_PIXELS, failOn: "warning", unlimited: false, pages: 1 }).timeout({ seconds: 15 });

/** `flopped`: the picture is mirror-reversed, as its side card showed in an earlier look, and is kept flipped. */
async function prepare({ kind, primaries, flopped }, [bytes, icc, heicExif]) {
  const opened = kind === "heic" ? await openHeic(bytes, icc, primaries) : await openByLibrary(kind, bytes);
  const found = await readExif(opened.exif ?? heicExif);
  const making = opened.toBase();
  // Side by side, as most photos are kept as they came whatever card is in them; never past the end of the search, or its answer would be the next photo's.
  const looking = flopped ? NO_CODES : findCodes(opened, making);
  const kept = await making.then((base) => (flopped ? flop(base) : base)).then(keep).finally(() => looking);
  const header = {
    ...kept.header, width: opened.width, height: opened.height, seen: await looking,
    exif: { ...found, orientation: opened.orientation ?? found.orientation },
  };
  return { header, parts: kept.parts };
}

/** Our own JPEG, changed by hand: quarter turns clockwise, or flipped left for right. */
async function turn({ quarterTurns, flopped }, [bytes]) {
  const picture = reading(bytes).rotate(quarterTurns * 90);
  return keep(await baseOf(flopped ? picture.flop() : picture));
}

/**
 * Looked for in the kept size first, which costs little; only then in what was opened, as it is stored, and there in the green
 * alone, which is had for nothing. `orientation`: how the picture lay in which they were seen; the app turns them.
 */
async function findCodes({ seenIn, turnedBy }, making) {
  try {
    const { data, shape } = await making;
    const first = await codes.read({ pixels: data, ...shape }, READ_OPTIONS);
    if (first.codes.length > 0 || longestOf(seenIn.shape) <= LARGEST_SIDE) return { ...first, orientation: 1 };
    return { ...(await codes.read(await greenOf(seenIn), FINE_OPTIONS)), orientation: turnedBy };
  } catch {
    // A picture that cannot be looked at is kept all the same.
    return NO_CODES;
  }
}

async function greenOf({ data, shape }) {
  const picture = opening(sharp(data, { raw: shape }), longestOf(shape)).extractChannel(Math.min(1, shape.channels - 1));
  const green = await pixelsOf(picture);
  return { pixels: green.data, ...green.shape };
}

const longestOf = ({ width, height }) => Math.max(width, height);

/** At the size in which photos are opened. */
const opening = (picture, longest) =>
  longest > OPENED_AT_MOST ? picture.resize({ width: OPENED_SIDE, height: OPENED_SIDE, fit: "inside", kernel: "linear" }) : picture;

async function flop({ data, shape }) {
  return pixelsOf(sharp(data, { raw: shape }).flop());
}

async function openByLibrary(kind, bytes) {
  const metadata = await reading(bytes).metadata();
  if (metadata.format !== kind) throw new Error("not what it was sniffed to be");
  let picture = opening(reading(bytes), longestOf(metadata)).flatten({ background: "#fff" }).toColourspace("srgb");
  // With 16 bits a channel the library works in Display P3 and would leave the numbers there.
  if (metadata.depth === "ushort" && metadata.hasProfile) picture = picture.withIccProfile("srgb");
  const seenIn = await pixelsOf(picture);
  // The library's reading of the orientation, and what everything is turned by.
  const orientation = metadata.orientation >= 1 && metadata.orientation <= 8 ? metadata.orientation : 1;
  return {
    seenIn,
    // Turned once it is small: to turn all that a camera gave takes as long as to decode it. The library flips first, then turns.
    toBase: () => pixelsOf(sharp(seenIn.data, { raw: seenIn.shape }).resize(atMost(LARGEST_SIDE, metadata))
      .flop(STORED_MIRRORED.includes(orientation)).rotate(90 * QUARTERS[orientation - 1])),
    width: orientation >= 5 ? metadata.height : metadata.width,
    height: orientation >= 5 ? metadata.width : metadata.height,
    orientation,
    turnedBy: orientation,
    exif: metadata.exif ?? Buffer.alloc(0),
  };
}

/**
 * The WebAssembly decoder applies the container's rotation and mirroring itself, so EXIF's
 * orientation, which says the same a second time, is not applied. It hands over bare numbers in the
 * photo's own colour space: shrunk first, then given their profile by way of a PNG, then converted.
 */
async function openHeic(bytes, icc, primaries) {
  const { data, width, height } = await decodeHeic(bytes);
  const seen = opaque(data);
  const seenIn = seen ? { data: seen, shape: { width, height, channels: 3 } } : { data, shape: { width, height, channels: 4 } };
  const toBase = async () => {
    const picture = sharp(seenIn.data, { raw: seenIn.shape, limitInputPixels: MAX_PIXELS });
    const profile = icc?.length ? icc : primaries === 12 ? await displayP3() : null;
    if (!profile) return baseOf(picture);
    const png = await atLargest(picture).png({ compressionLevel: 0 }).toBuffer();
    return baseOf(reading(withProfile(png, profile)));
  };
  return { seenIn, toBase, width, height, turnedBy: 1 };
}

let heicLibrary;

async function decodeHeic(bytes) {
  if (!heicLibrary) {
    heicLibrary = createRequire(require.resolve("heic-decode"))("libheif-js/wasm-bundle");
    await heicLibrary.ready;
  }
  const decoder = new heicLibrary.HeifDecoder();
  const images = decoder.decode(bytes);
  try {
    const image = images.find((candidate) => candidate.is_primary()) ?? images[0];
    const [width, height] = [image.get_width(), image.get_height()];
    if (width * height > MAX_PIXELS) throw new Error("Input image exceeds pixel limit");
    const shown = { data: new Uint8ClampedArray(width * height * 4), width, height };
    await new Promise((resolve, reject) => {
      image.display(shown, (done) => (done ? resolve() : reject(new Error("damaged"))));
    });
    return shown;
  } finally {
    for (const image of images) image.free();
    decoder.decoder?.delete();
  }
}

async function displayP3() {
  const dot = { create: { width: 1, height: 1, channels: 3, background: "#000" } };
  const png = await sharp(dot).withIccProfile("p3").png().toBuffer();
  return (await sharp(png).metadata()).icc;
}

/** Puts an iCCP chunk after IHDR (PNG third edition, 11.3.2.3); the header takes the first 33 bytes. */
function withProfile(png, profile) {
  const name = Buffer.from("p\0\0", "latin1");
  const body = Buffer.concat([Buffer.from("iCCP", "latin1"), name, zlib.deflateSync(profile)]);
  const length = Buffer.alloc(4);
  length.writeUInt32BE(body.length - 4);
  const check = Buffer.alloc(4);
  check.writeUInt32BE(crc32(body));
  return Buffer.concat([png.subarray(0, 33), length, body, check, png.subarray(33)]);
}

/** CRC-32 as PNG uses it (third edition, annex D); Node has its own only from 22 on. */
function crc32(bytes) {
  let crc = 0xffffffff;
  for (const byte of bytes) {
    crc ^= byte;
    for (let bit = 0; bit < 8; bit += 1) crc = crc & 1 ? (crc >>> 1) ^ 0xedb88320 : crc >>> 1;
  }
  return (crc ^ 0xffffffff) >>> 0;
}

/** The four facts kept from the metadata; everything else in it is never even named. */
async function readExif(exif) {
  if (!exif.length) return {};
  try {
    const block = exif.toString("latin1", 0, 6) === "Exif\0\0" ? exif.subarray(6) : exif;
    const wanted = ["Orientation", "DateTimeOriginal", "OffsetTimeOriginal", "OffsetTime"];
    const found = (await exifr.parse(block, { pick: wanted, reviveValues: false, translateValues: false })) ?? {};
    const textOf = (value) => (typeof value === "string" ? value.slice(0, 40) : undefined);
    return {
      orientation: Number(found.Orientation) || 1,
      takenAt: textOf(found.DateTimeOriginal),
      offset: textOf(found.OffsetTimeOriginal) ?? textOf(found.OffsetTime),
    };
  } catch {
    // Metadata that cannot be read is the same as none: it was going to be thrown away.
    return {};
  }
}

const shapeOf = (info) => ({ width: info.width, height: info.height, channels: info.channels });

/** Upright sRGB pixels without alpha, at most 2048 a side: what every kept picture is made from. */
const baseOf = (picture) => pixelsOf(atLargest(picture).flatten({ background: "#fff" }).toColourspace("srgb"));

const atLargest = (picture) => picture.resize({ width: LARGEST_SIDE, height: LARGEST_SIDE, fit: "inside", withoutEnlargement: true });

/** The size itself, so that rounding on the way to it does not count. */
function atMost(side, { width, height }) {
  const scale = Math.min(1, side / Math.max(width, height));
  return { width: Math.max(1, Math.round(width * scale)), height: Math.max(1, Math.round(height * scale)), fit: "fill" };
}

async function pixelsOf(picture) {
  const { data, info } = await picture.raw().toBuffer({ resolveWithObject: true });
  return { data, shape: shapeOf(info) };
}

const shrink = (base, side) =>
  sharp(base.data, { raw: base.shape }).resize({ width: side, height: side, fit: "inside", withoutEnlargement: true });

const asJpeg = (picture, quality) => picture.jpeg({ quality }).toBuffer({ resolveWithObject: true });

/** The largest from the base, all smaller ones from what is measured, which is itself of the second size. */
async function keep(base) {
  const [largest, [measured, ...smaller]] = await Promise.all([asJpeg(sharp(base.data, { raw: base.shape }), 82), smallerOf(base)]);
  const made = [largest, ...smaller];
  return {
    header: { pictures: made.map(({ info }) => ({ width: info.width, height: info.height })), measured: measured.shape },
    parts: [...made.map(({ data }) => data), measured.data],
  };
}

async function smallerOf(base) {
  const measured = await pixelsOf(shrink(base, MEASURED_SIDE));
  const made = [];
  for (const side of SMALLER_SIZES) made.push(await asJpeg(shrink(measured, side), 82));
  made.push(await asJpeg(shrink(measured, PLACEHOLDER_SIDE), 40));
  return [measured, ...made];
}

async function flatten(_request, [jpeg, svg]) {
  const { width, height } = await reading(jpeg).metadata();
  const drawn = await sharp(svg, { limitInputPixels: MAX_PIXELS })
    .resize({ width, height, fit: "fill" })
    .ensureAlpha()
    .raw()
    .toBuffer({ resolveWithObject: true });
  const over = { input: drawn.data, raw: shapeOf(drawn.info) };
  const { data } = await asJpeg(reading(jpeg).composite([over]), 85);
  return { header: {}, parts: [data] };
}
