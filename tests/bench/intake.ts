import sharp from "sharp";
import { photo24Mp, photoTurned6, photoWithGps } from "@/tests/photos/sources";
import { isTaken, newId, Practice } from "@/tests/proofs/practice";
import { spread, type Line, type Section } from "@/tests/bench/section";

const PHOTOS = [
  ["phone, 8 MP, 0.7 MB", photoTurned6],
  ["phone, 13 MP, 0.9 MB", photoWithGps],
  ["camera, 24 MP, 6.6 MB", photo24Mp],
] as const;
const WARM_UPS = 2;
/** A family may send 30 photos a day. */
const MOST_RUNS = 28;

/**
 * From the first byte sent to the answer after the committed row, over HTTP on this machine, one photo at
 * a time: sniffed, decoded in its own process, three sizes and a placeholder, measured, encrypted, synced.
 * Beside it, run by run in turn, the least that any app must do: decode, turn, shrink to the largest size
 * and write one JPEG, in a warm process and kept in memory.
 */
export async function intake(runs: number): Promise<Section> {
  const practice = await Practice.open();
  try {
    const senders = await practice.senders();
    const lines: Line[] = [];
    for (const [index, [what, read]] of PHOTOS.entries()) {
      const sender = senders[index];
      if (!sender) throw new Error("nobody may send");
      const photo = read();
      const [whole, bare]: [number[], number[]] = [[], []];
      for (let run = -WARM_UPS; run < Math.min(runs, MOST_RUNS); run += 1) {
        const tookWhole = await timed(async () => {
          const answer = await practice.upload({ sender, setId: newId(), ordinal: 1, key: newId() }, photo);
          if (!isTaken(answer)) throw new Error(`refused: ${answer.status}`);
        });
        const tookBare = await timed(() => sharp(photo).autoOrient().resize(2048, 2048, { fit: "inside", withoutEnlargement: true }).jpeg({ quality: 82 }).toBuffer());
        if (run < 0) continue;
        whole.push(tookWhole);
        bare.push(tookBare);
      }
      const ratio = spread(whole.map((each, run) => each / (bare[run] ?? Number.NaN)), 2);
      lines.push({ what, runs: whole.length, ...named("whole ms", spread(whole)), ...named("bare ms", spread(bare)), ...named("ratio", ratio) });
    }
    return { name: "intake", how: "whole: upload to 201 after commit; bare: decode, turn, 2048 px, JPEG in memory; in turn; ratio run by run", lines };
  } finally {
    await practice.close();
  }
}

const named = (name: string, { median, least, most }: ReturnType<typeof spread>) => ({ [name]: median, [`${name}, least to most`]: `${least} to ${most}` });

async function timed(work: () => Promise<unknown>): Promise<number> {
  const began = performance.now();
  await work();
  return performance.now() - began;
}
