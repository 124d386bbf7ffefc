import * as fc from "fast-check";
import { describe, expect, it } from "vitest";
import { draftRows, type DraftWords } from "@/app/desk/children/[childId]/sets/[photoSetId]/draft-rows";
import { differing, withFields, written } from "@/lib/domain/answering/draft-fields";

const draft = fc.dictionary(fc.constantFrom("summary", "verdict.a", "words.a", "marks.p", "rest"), fc.constantFrom("", "one", "two"));
const plain = (fields: Readonly<Record<string, string>>) => Object.fromEntries(Object.entries(fields).filter(([, value]) => value !== ""));

describe("two drafts", () => {
  it("differ in nothing from themselves, and alike both ways", () => {
    fc.assert(fc.property(draft, draft, (one, two) => {
      expect(differing(one, { ...one })).toEqual([]);
      expect([...differing(one, two)].sort()).toEqual([...differing(two, one)].sort());
    }));
  });

  it("are the other one when all that differs is taken from it, and themselves when nothing is", () => {
    fc.assert(fc.property(draft, draft, (one, two) => {
      expect(plain(withFields(one, two, differing(one, two)))).toEqual(plain(two));
      expect(withFields(one, two, [])).toEqual(one);
    }));
  });

  it("keep what was not taken, part by part", () => {
    expect(withFields({ summary: "mine", "verdict.a": "fix" }, { summary: "theirs", rest: "yes" }, ["summary", "rest"]))
      .toEqual({ "verdict.a": "fix", summary: "theirs", rest: "yes" });
  });
});

describe("what a therapist wrote", () => {
  it("is neither the framework's nor the form's own, nor empty, nor a file", () => {
    expect(written([["$ACTION_1", "x"], ["once", "k"], ["amends", "id"], ["childId", "c"], ["photoSetId", "s"], ["summary", "Left."], ["rest", ""], ["file", new Blob()]]))
      .toEqual({ summary: "Left." });
  });
});

describe("the rows of a comparison", () => {
  const words: DraftWords = { fields: { summary: "Summary", "verdict.a": "Elbow: verdict", "marks.p": "Marks on photo 1", "span.p": "Part to repeat" }, values: { fix: "Fix" }, nothing: "nothing", marks: "Marks drawn: {n}", voice: "recorded", photos: { p1: "2 March", p2: "9 March" }, pair: "{first} and {second}", gone: "gone", span: "{from} s to {to} s", other: "Something else" };

  it("say pairs by their photos and a spoken note by a word, never by an id", () => {
    expect(draftRows({ "pair.1": "p1:p2", voice: "id-1" }, { "pair.1": "p1:p9" }, words).map(({ one, two }) => [one, two])).toEqual([
      ["2 March and 9 March", "2 March and gone"], ["recorded", "nothing"],
    ]);
  });

  it("say fields and values in words, and count marks", () => {
    const marks = JSON.stringify({ version: 2, marks: [{ kind: "ring" }, { kind: "note", text: "x" }] });
    expect(draftRows({ "verdict.a": "fix", "marks.p": marks }, { summary: "Left.", odd: "1", "span.p": "400-1650" }, words)).toEqual([
      { name: "verdict.a", label: "Elbow: verdict", one: "Fix", two: "nothing" },
      { name: "marks.p", label: "Marks on photo 1", one: "Marks drawn: 2", two: "nothing" },
      { name: "summary", label: "Summary", one: "nothing", two: "Left." },
      { name: "odd", label: "Something else", one: "nothing", two: "1" },
      { name: "span.p", label: "Part to repeat", one: "nothing", two: "0.4 s to 1.7 s" },
    ]);
  });
});
