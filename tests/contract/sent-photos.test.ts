import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";

/** Readers of photos that ask for neither the family's nor moments of clips, and why they need not. */
const NEED_NOT: Readonly<Record<string, string>> = {
  "answers-read.ts": "reads both and parts them by `momentOf`",
  "clips.ts": "a clip is of a photo that a family sent, whose set is not sent yet where anything is written",
  "pairs.ts": "what may stand in a pair, told apart by its time in the clip",
  "sending.ts": "of a set that is not sent yet, to which no moment belongs",
  "taking-out.ts": "of a set that is not sent yet, to which no moment belongs",
};

test("every reader of photos says whether it means what a family sent, or pictures that a therapist took from a clip", () => {
  const folder = join(process.cwd(), "lib", "records");
  const readers = readdirSync(folder).filter((name) => /(?:from|[jJ]oin)\(photos\b/.test(readFileSync(join(folder, name), "utf8")));
  expect(readers.length).toBeGreaterThan(12);
  const silent = readers.filter((name) => !readFileSync(join(folder, name), "utf8").includes("@/lib/records/sent-photos"));
  expect(silent.toSorted()).toEqual(Object.keys(NEED_NOT));
});
