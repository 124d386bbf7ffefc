import { readdirSync, readFileSync, statSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import sharp from "sharp";
import { noise } from "@/tests/photos/sources";
import { isLineLost, isShed } from "@/tests/proofs/acts";
import { brokenIn } from "@/tests/proofs/kept";
import { mutated, type Named } from "@/tests/proofs/mutated";
import { isTaken, newId, refusedAs, storedIn, type Practice } from "@/tests/proofs/practice";
import { decodersOf } from "@/tests/proofs/processes";
import { chance, oneOf, pause } from "@/tests/proofs/random";
import type { Report } from "@/tests/proofs/report";

const { parse } = createRequire(import.meta.url)("exifr") as typeof import("exifr");
/** Photos out of the registry packages that DEVELOPERS.md names, where no folder is given. */
const PACKAGES = ["exif/test", "jpeg-exif/test", "exif-parser/test", "fixture-images"];
const AT_ONCE = 2;
/** Mutated ones are made of smaller files, or the run takes an hour. */
const LARGEST_MUTATED = 1_200_000;
/** Of every kind that anybody sends; what a file is called is never sent. */
const NOT_FILES = /\.(?:js|json|md|ts|html)$/;

function filesIn(folder: string): readonly Named[] {
  return readdirSync(folder, { recursive: true, encoding: "utf8" }).sort().map((name) => join(folder, name))
    .filter((path) => statSync(path).isFile() && !NOT_FILES.test(path)).map((path) => ({ name: path.slice(folder.length + 1), bytes: readFileSync(path) }));
}

/**
 * Every file of a folder, and thousands made of them by damage, sent to a served app as a phone sends a photo. Each is
 * taken or refused in words; the server outlives all of them; what is kept of one opens and says nothing of its camera.
 */
export async function uploads(practice: Practice, { files: wanted, seed, folder }: { readonly files: number; readonly seed: number; readonly folder: string | undefined }): Promise<Report> {
  const random = chance(seed);
  const whole = folder ? filesIn(folder) : PACKAGES.flatMap((each) => filesIn(join(process.cwd(), "node_modules", each)));
  if (whole.length === 0) return { figures: { files: 0 }, losses: [`no file in ${folder ?? "the packages"}`] };
  const small = [...whole.filter(({ bytes }) => bytes.length > 0 && bytes.length <= LARGEST_MUTATED), { name: "noise", bytes: noise(4096) }];
  const todo = [...whole, ...Array.from({ length: wanted }, () => mutated(random, small))];
  const senders = await practice.senders();
  const losses: string[] = [];
  const answers = new Map<string, number>();
  const kept: string[] = [];
  const server = practice.pid;
  const decoders = new Set<number>();
  const peak = { server: 0, decoder: 0 };
  let slowest = { ms: 0, name: "" };
  const look = (): void => {
    peak.server = Math.max(peak.server, peakOf(server));
    for (const pid of decodersOf(server)) {
      decoders.add(pid);
      peak.decoder = Math.max(peak.decoder, peakOf(pid));
    }
  };
  const send = async (file: Named): Promise<void> => {
    const sender = oneOf(random, senders);
    const place = { sender, setId: newId(), ordinal: 1, key: newId() };
    for (;;) {
      const began = performance.now();
      const answer = await practice.upload(place, file.bytes);
      if (isShed(answer)) {
        await pause(300);
        continue;
      }
      const ms = performance.now() - began;
      if (ms > slowest.ms) slowest = { ms, name: file.name };
      const said = isTaken(answer) ? "taken" : (refusedAs(answer) ?? `${answer.status}`);
      answers.set(said, (answers.get(said) ?? 0) + 1);
      const isRefusedInWords = [400, 413, 415, 422].includes(answer.status) && refusedAs(answer) !== null;
      if (!isTaken(answer) && !isRefusedInWords) losses.push(`${file.name}: ${answer.status}`);
      if (isTaken(answer)) {
        kept.push(storedIn(answer).photoId);
        losses.push(...(await notClean(practice, sender, storedIn(answer).photoId)).map((what) => `${file.name}: ${what}`));
      }
      return;
    }
  };
  let next = 0;
  const work = async (): Promise<void> => {
    for (let file = todo[next++]; file; file = todo[next++]) {
      if (next % 40 === 0) practice.letADayPass();
      await send(file).catch((error: unknown) => losses.push(`${file?.name}: ${isLineLost(error) ? "line lost" : error instanceof Error ? error.message : "unknown"}`));
      look();
    }
  };
  practice.letADayPass();
  await Promise.all(Array.from({ length: AT_ONCE }, work));
  const health = await practice.ask("/api/health", "");
  if (health.status !== 200 || practice.pid !== server) losses.push(`afterwards the server answers ${health.status}`);
  losses.push(...brokenIn(practice));
  return {
    figures: {
      seed, files: whole.length, mutated: wanted, kept: kept.length, slowest: `${Math.round(slowest.ms)} ms (${slowest.name})`,
      "server's peak": `${peak.server} MB`, "a decoder's peak": `${peak.decoder} MB`, decoders: decoders.size, ...Object.fromEntries([...answers].sort()), lost: losses.length,
    },
    losses,
  };
}

/** Largest resident size of a process so far, in megabytes; 0 where the system does not say. */
function peakOf(pid: number): number {
  try {
    return Math.round(Number(/VmHWM:\s+(\d+) kB/.exec(readFileSync(`/proc/${pid}/status`, "utf8"))?.[1] ?? 0) / 1024);
  } catch {
    return 0; // gone, or no such file on this system
  }
}

/** What is wrong with the picture that is kept of a photo: an independent reader finds metadata, or no decoder opens it. */
async function notClean(practice: Practice, { childId, cookie }: { readonly childId: string; readonly cookie: string }, photoId: string): Promise<readonly string[]> {
  const { status, body } = await practice.ask(`/media/${childId}/${photoId}/1024`, cookie);
  if (status !== 200) return [`its picture answers ${status}`];
  const picture = Buffer.from(body, "latin1");
  try {
    await sharp(picture, { failOn: "warning" }).raw().toBuffer();
  } catch {
    return ["its picture does not open"];
  }
  const { exif, xmp, iptc } = await sharp(picture).metadata();
  const found: unknown = await parse(picture, { tiff: true, xmp: true, iptc: true, icc: false, jfif: false, gps: true }).catch(() => undefined);
  return exif || xmp || iptc || (found && Object.keys(found).length > 0) ? ["its picture holds metadata"] : [];
}
