import { expect, test } from "vitest";
import { filesUnder, read } from "@/tests/contract/sources";

/** A title or an item's title taken from the catalogue: a therapist's exercise has no entry there, and the page would fail. */
const FROM_CATALOGUE = /\(\s*[`"'](?:title|items)\.(?:\$\{|[a-z-]+["'`.])/;

test("names of exercises and items come from the practice's library alone", () => {
  expect(FROM_CATALOGUE.test("say(\"exercise\")(`title.${key}`)")).toBe(true);
  expect(FROM_CATALOGUE.test("exercise(`items.${row.itemKey}.title`)")).toBe(true);
  expect(filesUnder(["app", "lib"], /\.tsx?$/).filter((path) => FROM_CATALOGUE.test(read(path)))).toEqual([]);
});
