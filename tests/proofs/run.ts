/**
 * npm run prove -- [NAME...] [--seed N] [--rounds N] [--photos N] [--sets N] [--seconds N] [--mutants N] [--files N]
 *
 * Long proofs, all of them or those named. Each prints one JSON line of figures; a loss is named on
 * standard error and makes the exit code 1. Real servers run on folders of their own that are removed
 * afterwards.
 */
import { parseArgs } from "node:util";
import { archive } from "@/tests/proofs/archive";
import { bucket } from "@/tests/proofs/bucket";
import { cache } from "@/tests/proofs/cache";
import { decoder } from "@/tests/proofs/decoder";
import { drill, swap } from "@/tests/proofs/drill";
import { drops } from "@/tests/proofs/drops";
import { kills } from "@/tests/proofs/kills";
import { load } from "@/tests/proofs/load";
import { mutants } from "@/tests/proofs/mutants";
import { Practice } from "@/tests/proofs/practice";
import { proxy } from "@/tests/proofs/proxy";
import { queue } from "@/tests/proofs/queue";
import type { Report } from "@/tests/proofs/report";
import { slow } from "@/tests/proofs/slow";
import { uploads } from "@/tests/proofs/uploads";
import { walk } from "@/tests/proofs/walk";

const whole = (text: string): number => {
  if (!/^\d{1,9}$/.test(text)) throw new Error(`${text} is not a whole number`);
  return Number(text);
};

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: {
    seed: { type: "string", default: "1" }, rounds: { type: "string", default: "30" }, photos: { type: "string", default: "100" }, sets: { type: "string", default: "100" },
    seconds: { type: "string", default: "20" }, mutants: { type: "string", default: "60" }, files: { type: "string", default: "1000" },
  },
});
const seed = whole(values.seed);
const rounds = whole(values.rounds);

const PROOFS: Readonly<Record<string, () => Promise<Report>>> = {
  kills: () => served((practice) => kills(practice, { rounds, seed })),
  decoder: () => served((practice) => decoder(practice, { rounds, halts: 1, seed })),
  drops: () => served((practice) => drops(practice, { photos: whole(values.photos), seed })),
  queue: () => served((practice) => queue(practice, { sets: whole(values.sets), kills: 6, seed })),
  uploads: () => served((practice) => uploads(practice, { files: whole(values.files), seed, folder: process.env["PROOF_FILES"] })),
  drill: () => served((practice) => drill(practice, { backups: 4 })),
  swap: () => served((practice) => swap(practice)),
  archive: () => served((practice) => archive(practice, { photos: 5 * whole(values.photos) })),
  slow: () => served((practice) => slow(practice)),
  cache: () => served((practice) => cache(practice)),
  load: () => served((practice) => load(practice, { seconds: whole(values.seconds), seed })),
  bucket: () => bucket({ sets: Math.min(whole(values.sets), 30) }),
  proxy,
  walk,
  mutants: () => mutants({ more: whole(values.mutants), seed, tell: (survivor) => process.stdout.write(`survived  ${survivor}\n`) }),
};

const unknown = positionals.filter((name) => !(name in PROOFS));
if (unknown.length > 0) {
  process.stderr.write(`There is no proof ${unknown.join(", ")}: choose from ${Object.keys(PROOFS).join(", ")}.\n`);
  process.exit(2);
}
for (const [name, prove] of Object.entries(PROOFS)) {
  if (positionals.length > 0 && !positionals.includes(name)) continue;
  const began = Date.now();
  const { figures, losses } = await prove();
  process.stdout.write(`${JSON.stringify({ proof: name, ...figures, took: `${Math.round((Date.now() - began) / 1000)} s` })}\n`);
  for (const loss of losses) process.stderr.write(`${name}: ${loss}\n`);
  if (losses.length > 0) process.exitCode = 1;
}

async function served(prove: (practice: Practice) => Promise<Report>): Promise<Report> {
  const practice = await Practice.open();
  try {
    return await prove(practice);
  } finally {
    await practice.close();
  }
}
