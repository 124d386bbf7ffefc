import { readdirSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import sharp, { type Sharp } from "sharp";
import { byShell, shellVersion } from "@/tests/bench/by-shell";
import { photo24Mp, photoTurned6, photoWithGps } from "@/tests/photos/sources";
import { isTaken, newId, Practice } from "@/tests/proofs/practice";
import { processorOf } from "@/tests/proofs/processes";
import { spread, type Line, type Section } from "@/tests/bench/section";

type Photo = readonly [what: string, read: () => Buffer, bare: (bytes: Buffer) => Promise<Buffer>];

/** Decode, turn, shrink to the largest size and write one JPEG. */
const shrunk = (picture: Sharp): Promise<Buffer> => picture.resize(2048, 2048, { fit: "inside", withoutEnlargement: true }).jpeg({ quality: 82 }).toBuffer();
const bareJpeg = (bytes: Buffer): Promise<Buffer> => shrunk(sharp(bytes).autoOrient());
type DecodeHeic = (what: { readonly buffer: Buffer }) => Promise<{ readonly width: number; readonly height: number; readonly data: Uint8ClampedArray }>;
const bareHeic = async (bytes: Buffer): Promise<Buffer> => {
  const decode = createRequire(import.meta.url)("heic-decode") as DecodeHeic; // it has no types of its own
  const { width, height, data } = await decode({ buffer: bytes });
  return shrunk(sharp(data, { raw: { width, height, channels: 4 } }));
};

const PACKAGED: readonly Photo[] = [
  ["phone, 6 MP, 0.7 MB", photoTurned6, bareJpeg],
  ["phone, 13 MP, 0.9 MB", photoWithGps, bareJpeg],
  ["camera, 24 MP, 6.6 MB", photo24Mp, bareJpeg],
];
/** No registry package holds a phone's HEIC: those of the folder PROOF_FILES are measured where it is named. */
function heicPhotos(): readonly Photo[] {
  const folder = process.env["PROOF_FILES"];
  if (!folder) return [];
  return readdirSync(folder).filter((name) => /\.hei[cf]$/i.test(name)).slice(0, MOST_HEIC).map((name) => [name, () => readFileSync(join(folder, name)), bareHeic]);
}
const MOST_HEIC = 3;
const WARM_UPS = 2;
/** A family may send 30 photos a day. */
const MOST_RUNS = 28;

/**
 * From the first byte sent to the answer after the committed row, over HTTP on this machine, one photo at
 * a time: sniffed, decoded in its own process, three sizes and a placeholder, measured, encrypted, synced.
 * Beside it, run by run in turn, the least that any app must do: decode, turn, shrink to the largest size
 * and write one JPEG, in a warm process and kept in memory; and where ImageMagick and ExifTool are installed, a shell's way.
 * The processor's time of both, which other work on the machine changes less: of the door, the app and its decoders, and of this process.
 */
export async function intake(runs: number): Promise<Section> {
  const practice = await Practice.open();
  try {
    const senders = await practice.senders();
    const lines: Line[] = [];
    const shell = shellVersion();
    for (const [index, [what, read, bareOf]] of [...PACKAGED, ...heicPhotos()].entries()) {
      const sender = senders[index];
      if (!sender) throw new Error("nobody may send");
      const photo = read();
      const [whole, bare, byHand]: [number[], number[], number[]] = [[], [], []];
      // Of all runs together, since the system counts in hundredths of a second.
      let [wholeBusy, bareBusy] = [0, 0];
      for (let run = -WARM_UPS; run < Math.min(runs, MOST_RUNS); run += 1) {
        const before = processorOf(practice.pid);
        const tookWhole = await timed(async () => {
          const answer = await practice.upload({ sender, setId: newId(), ordinal: 1, key: newId() }, photo);
          if (!isTaken(answer)) throw new Error(`refused: ${answer.status}`);
        });
        const busyWhole = processorOf(practice.pid) - before;
        const own = process.cpuUsage();
        const tookBare = await timed(() => bareOf(photo));
        const { user, system } = process.cpuUsage(own);
        const tookByHand = shell && bareOf === bareJpeg ? await timed(async () => byShell(photo)) : null;
        if (run < 0) continue;
        whole.push(tookWhole);
        bare.push(tookBare);
        wholeBusy += busyWhole;
        bareBusy += (user + system) / 1000;
        if (tookByHand !== null) byHand.push(tookByHand);
      }
      const ratio = spread(whole.map((each, run) => each / (bare[run] ?? Number.NaN)), 2);
      lines.push({ what, runs: whole.length, ...named("whole ms", spread(whole)), ...named("bare ms", spread(bare)), ...named("ratio", ratio), ...byProcessor(wholeBusy, bareBusy, whole.length), "shell ms": byHand.length > 0 ? spread(byHand).median : "not measured" });
    }
    return { name: "intake", how: `whole: upload to 201 after commit; bare: decode, turn, 2048 px, JPEG in memory; in turn; ratio run by run; processor: of every process of the server, a run; shell: ${shell ?? "ImageMagick and ExifTool are not both installed"}`, lines };
  } finally {
    await practice.close();
  }
}

const named = (name: string, { median, least, most }: ReturnType<typeof spread>) => ({ [name]: median, [`${name}, least to most`]: `${least} to ${most}` });

const byProcessor = (whole: number, bare: number, runs: number) =>
  ({ "whole processor ms": Math.round(whole / runs), "bare processor ms": Math.round(bare / runs), "ratio by processor": Number((whole / bare).toFixed(2)) });

async function timed(work: () => Promise<unknown>): Promise<number> {
  const began = performance.now();
  await work();
  return performance.now() - began;
}
