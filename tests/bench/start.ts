import { execFileSync } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { startOwn } from "@/e2e/own-server";
import { freePort } from "@/e2e/walk/port";
import { spread, type Section } from "@/tests/bench/section";

const root = fileURLToPath(new URL("../..", import.meta.url));

/**
 * `npm start` from the command to the line with the address. Cold: a fresh clone of the newest commit
 * with nothing installed, so packages, compiling, building and filling the demo are in it. Warm: again.
 */
export async function start(warmRuns: number): Promise<Section> {
  const folder = mkdtempSync(join(tmpdir(), "trueside-bench-"));
  try {
    const clone = join(folder, "clone");
    execFileSync("git", ["clone", "-q", root, clone]);
    const seconds = () => secondsToServe(clone, join(folder, "data"));
    const cold = await seconds();
    const warm: number[] = [];
    for (let run = 0; run < warmRuns; run += 1) warm.push(await seconds());
    const { median, least, most } = spread(warm, 1);
    return {
      name: "start", how: "npm start until its address is printed; npm's own cache as it is on this machine",
      lines: [
        { what: "cold, fresh clone", runs: 1, seconds: spread([cold], 1).median, "least to most": "" },
        { what: "warm", runs: warm.length, seconds: median, "least to most": `${least} to ${most}` },
      ],
    };
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

async function secondsToServe(clone: string, dataDir: string): Promise<number> {
  const began = performance.now();
  const port = String(await freePort());
  const server = startOwn({ PORT: port, DATA_DIR: dataDir, DEMO: "1" }, "npm", ["start", "--silent"], clone);
  const isServing = await server.ready;
  const took = (performance.now() - began) / 1000;
  server.process.kill("SIGTERM");
  const { err } = await server.ended;
  if (!isServing) throw new Error(`npm start did not serve: ${err}`);
  return took;
}
