/** `burn.ts MARKS.json IN.jpg OUT.jpg [IN.jpg OUT.jpg …]`: marks burned in exactly as for a family, by the product's own code. */
import { readFileSync, writeFileSync } from "node:fs";
import sharp from "sharp";
import { parseMarks } from "@/lib/domain/marks/marks.schema";
import { MARK_COLOURS, marksToSvg } from "@/lib/domain/marks/svg";
import { markLabels } from "@/lib/messages/mark-labels";
import { flatten } from "@/lib/photos/flatten";

const [json = "", ...files] = process.argv.slice(2);
const marks = parseMarks(readFileSync(json, "utf8"));
if (!marks.ok) throw new Error("these are no marks");
for (let at = 0; at + 1 < files.length; at += 2) {
  const jpeg = readFileSync(files[at] ?? "");
  const { width, height } = await sharp(jpeg).metadata();
  const burned = await flatten(jpeg, marksToSvg(marks.value, width, height, MARK_COLOURS, markLabels()));
  if (!burned.ok) throw new Error(burned.problem.code);
  writeFileSync(files[at + 1] ?? "", burned.value);
}
// The decoder waits for more work in a process of its own.
process.exit(0);
