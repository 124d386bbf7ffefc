import { readFileSync } from "node:fs";
import { join } from "node:path";
import { deflateSync } from "node:zlib";
import sharp from "sharp";

/** A real photo out of a registry package; DEVELOPERS.md names the packages. */
export const registryPhoto = (path: string) => readFileSync(join(process.cwd(), "node_modules", path));

/** 24 megapixels, an interchangeable-lens camera; maker, model, lens and date inside. */
export const photo24Mp = () => registryPhoto("exif/test/sony-alpha-6000.jpg");
/** A phone photo with GPS, 13 megapixels. */
export const photoWithGps = () => registryPhoto("exif/test/short-ascii-II.jpg");
/** A phone photo, EXIF orientation 6. */
export const photoTurned6 = () => registryPhoto("jpeg-exif/test/IMG_0001.JPG");

/** Reproducible noise: incompressible bytes without keeping a file. */
export function noise(length: number, seed = 1): Buffer {
  const bytes = Buffer.alloc(length);
  let state = seed;
  for (let index = 0; index < length; index += 1) {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    bytes[index] = state >>> 24;
  }
  return bytes;
}

/** A picture of noise as JPEG; quality 100 keeps nearly every bit, so the file is large. */
export function noiseJpeg(width: number, height: number, quality = 100): Promise<Buffer> {
  const raw = { width, height, channels: 3 as const };
  return sharp(noise(width * height * 3), { raw }).jpeg({ quality, chromaSubsampling: "4:4:4" }).toBuffer();
}

/** A PNG of flat zeros written chunk by chunk: one bit a pixel, so a bomb costs the test little. */
export function flatPng(width: number, height: number, extra: readonly Buffer[] = []): Buffer {
  const header = Buffer.alloc(13);
  header.writeUInt32BE(width, 0);
  header.writeUInt32BE(height, 4);
  header.writeUInt8(1, 8);
  const rows = deflateSync(Buffer.alloc((Math.ceil(width / 8) + 1) * height), { level: 1 });
  const signature = Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]);
  return Buffer.concat([signature, pngChunk("IHDR", header), ...extra, pngChunk("IDAT", rows), pngChunk("IEND", Buffer.alloc(0))]);
}

export function pngChunk(type: string, body: Buffer): Buffer {
  const typed = Buffer.concat([Buffer.from(type, "latin1"), body]);
  const [length, check] = [Buffer.alloc(4), Buffer.alloc(4)];
  length.writeUInt32BE(body.length);
  check.writeUInt32BE(crc32(typed));
  return Buffer.concat([length, typed, check]);
}

function crc32(bytes: Buffer): number {
  let crc = 0xffffffff;
  for (const byte of bytes) {
    crc ^= byte;
    for (let bit = 0; bit < 8; bit += 1) crc = (crc & 1) === 1 ? (crc >>> 1) ^ 0xedb88320 : crc >>> 1;
  }
  return (crc ^ 0xffffffff) >>> 0;
}
