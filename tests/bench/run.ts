/**
 * npm run bench -- [NAME...] [--runs N] [--out FILE]
 *
 * Measures and judges nothing: the figures are this machine's at this moment. Prints a table a section;
 * `--out` also writes them as JSON, outside the source tree only.
 */
import { writeFileSync } from "node:fs";
import { cpus, loadavg } from "node:os";
import { relative, resolve } from "node:path";
import { fileURLToPath } from "node:url";
import { parseArgs } from "node:util";
import sharp from "sharp";
import { caseload } from "@/tests/bench/caseload";
import { figures } from "@/tests/bench/figures";
import { intake } from "@/tests/bench/intake";
import { phone } from "@/tests/bench/phone";
import { scale } from "@/tests/bench/scale";
import type { Section } from "@/tests/bench/section";
import { serving } from "@/tests/bench/serving";
import { start } from "@/tests/bench/start";
import { tasks } from "@/tests/bench/tasks";
import { together } from "@/tests/bench/together";
import { weight } from "@/tests/bench/weight";

const root = fileURLToPath(new URL("../..", import.meta.url));
const { values, positionals } = parseArgs({ allowPositionals: true, options: { runs: { type: "string", default: "10" }, out: { type: "string" } } });
const runs = Number(values.runs);

const SECTIONS: Readonly<Record<string, () => Promise<Section>>> = {
  intake: () => intake(runs), together: () => together(runs), caseload: () => caseload(runs), figures: () => figures(runs), scale: () => scale(runs), phone: () => phone(runs), tasks: () => tasks(runs), weight, serving: () => serving(runs), start: () => start(runs),
};

const complaint = complaintAbout();
if (complaint) {
  process.stderr.write(`${complaint}\n`);
  process.exit(2);
}
const sections: Section[] = [];
for (const [name, measure] of Object.entries(SECTIONS)) {
  if (positionals.length > 0 && !positionals.includes(name)) continue;
  const section = await measure();
  sections.push(section);
  process.stdout.write(`${section.name}: ${section.how}\n`);
  console.table(section.lines);
}
if (values.out) {
  const machine = { node: process.version, sharp: sharp.versions.sharp, vips: sharp.versions.vips, cores: cpus().length, cpu: cpus()[0]?.model ?? "", load: loadavg(), measuredAt: new Date().toISOString() };
  writeFileSync(values.out, `${JSON.stringify({ machine, sections }, null, 2)}\n`);
}

function complaintAbout(): string | null {
  const unknown = positionals.filter((name) => !(name in SECTIONS));
  if (unknown.length > 0) return `There is no section ${unknown.join(", ")}: choose from ${Object.keys(SECTIONS).join(", ")}.`;
  if (!Number.isInteger(runs) || runs < 1) return "--runs must be a whole number, 1 or more.";
  const isInside = values.out !== undefined && !relative(root, resolve(values.out)).startsWith("..");
  return isInside ? "--out must lie outside the source tree." : null;
}
