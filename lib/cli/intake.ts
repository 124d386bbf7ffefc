/**
 * npm run intake -- FILE... [--out DIR] [--json]
 *
 * Takes any picture and clip files in as if a family had sent them and says what became of each, one line a
 * file; with `--json`, one JSON object a line. `--out` also writes what would be kept.
 * Exit code 0 whatever the files are, 2 when no file is named. Nothing is stored anywhere else.
 */
import { createReadStream } from "node:fs";
import { mkdir, open, writeFile } from "node:fs/promises";
import { basename, join } from "node:path";
import { parseArgs } from "node:util";
import { createTranslator } from "use-intl/core";
import { takeInClip } from "@/lib/clips/intake";
import type { PreparedClip } from "@/lib/clips/prepared";
import { clipContainer } from "@/lib/domain/clip/inspect";
import { CLIP_LIMITS } from "@/lib/domain/clip/limits";
import problems from "@/lib/messages/en/problems.json";
import { refuse, type Problem, type Result } from "@/lib/domain/result";
import { closeDecoders, decoderPool } from "@/lib/photos/decoder-pool";
import { takeIn } from "@/lib/photos/intake";
import type { PreparedPhoto } from "@/lib/photos/prepared";
import { receive } from "@/lib/photos/receive";

const messages: Record<string, string> = problems;
const say = createTranslator({ locale: "en", messages });

const { values: options, positionals: files } = parseArgs({
  allowPositionals: true,
  options: { out: { type: "string" }, json: { type: "boolean", default: false } },
});

if (files.length === 0) {
  process.stderr.write("npm run intake -- FILE... [--out DIR] [--json]\n");
  process.exitCode = 2;
} else {
  if (options.out) await mkdir(options.out, { recursive: true });
  await decoderPool("photos").warm();
  for (const [index, file] of files.entries()) {
    const line = await describe(file, index);
    process.stdout.write(`${options.json ? JSON.stringify(line) : inWords(line)}\n`);
  }
  await closeDecoders();
}

type Line = { readonly file: string; readonly ok: boolean; readonly code: string | null; readonly message: string | null } & Partial<
  Omit<ReturnType<typeof figuresOf>, "format"> & Omit<ReturnType<typeof clipFigures>, "format">
> & { readonly format?: string; readonly ms: number };

async function describe(file: string, index: number): Promise<Line> {
  const startedAt = performance.now();
  const ms = () => Math.round(performance.now() - startedAt);
  try {
    if (await isClip(file)) {
      const clip = await takeClip(file);
      if (!clip.ok) return { file, ok: false, ...wordsFor(clip.problem), ms: ms() };
      const line = { file, ok: true, code: null, message: null, ...clipFigures(clip.value), ms: ms() };
      if (options.out) await writeFile(join(options.out, `${index + 1}-${basename(file)}.${clip.value.container}`), clip.value.bytes);
      return line;
    }
    const taken = await takeIn(createReadStream(file));
    if (!taken.ok) return { file, ok: false, ...wordsFor(taken.problem), ms: ms() };
    const line = { file, ok: true, code: null, message: null, ...figuresOf(taken.value), ms: ms() };
    if (options.out) await writeKept(options.out, `${index + 1}-${basename(file)}`, taken.value);
    return line;
  } catch (error) {
    // A folder, or a file that may not be read: said in the same shape, so that the run goes on.
    const code = error instanceof Error && "code" in error ? String(error.code) : null;
    if (code === null || !/^E[A-Z]+$/.test(code)) throw error;
    return { file, ok: false, code: "file-unreadable", message: `The file cannot be read (${code}).`, ms: ms() };
  }
}

async function isClip(file: string): Promise<boolean> {
  await using handle = await open(file);
  const { buffer, bytesRead } = await handle.read(Buffer.alloc(12), 0, 12, 0);
  return clipContainer(buffer.subarray(0, bytesRead)) !== null;
}

async function takeClip(file: string): Promise<Result<PreparedClip>> {
  const { maxBytes } = CLIP_LIMITS;
  const received = await receive(createReadStream(file), {}, { maxBytes, cutBytes: maxBytes + 1_000_000 });
  return received.ok ? takeInClip(received.value.bytes) : refuse("clip-too-big", { values: { max: maxBytes / 1e6 } });
}

function clipFigures({ container, codec, bytes, ...clip }: PreparedClip) {
  return { format: container, codec, keptBytes: bytes.length, ...clip };
}

function wordsFor({ code, values }: Problem) {
  return { code, message: say(code, values) };
}

function figuresOf(photo: PreparedPhoto) {
  const { sharpness, exposure, hash } = photo.measures;
  const sizes = photo.sizes.map(({ size, width, height, bytes }) => ({ size, width, height, bytes: bytes.length }));
  return {
    format: photo.kind,
    width: photo.width,
    height: photo.height,
    sizes,
    sharpness,
    exposure,
    hash,
    mirroredFlag: photo.mirroredFlag,
    card: photo.card,
    takenAt: photo.takenAt,
    receivedBytes: photo.receivedBytes,
    sha256: photo.sha256,
  };
}

async function writeKept(folder: string, name: string, photo: PreparedPhoto): Promise<void> {
  for (const { size, bytes } of photo.sizes) await writeFile(join(folder, `${name}.${size}.jpg`), bytes);
  await writeFile(join(folder, `${name}.placeholder.jpg`), photo.placeholder.bytes);
}

function inWords(line: Line): string {
  if (!line.ok) return `refused  ${line.file}  ${line.code}  ${line.message}`;
  return `taken    ${line.file}  ${line.format} ${line.width}x${line.height}  ${line.ms} ms`;
}
