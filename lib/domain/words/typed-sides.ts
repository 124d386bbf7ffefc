import type { SetupSides } from "@/lib/domain/setup/setup-sides";
import { SIDES, type Side } from "@/lib/domain/sides";
import { ENDS_SENTENCE, SIDE_WORDS, type SideWords } from "@/lib/domain/words/side-words";

export type TypedSide = {
  readonly side: Side;
  /** Where the word stands in the text, in UTF-16 units. */
  readonly start: number;
  readonly end: number;
  readonly about: "arm" | "leg" | "lie" | "prop" | "breath" | "unknown";
  /** False is a disagreement with the set-up. `cannot-tell` is to be shown too: the writer looks again. */
  readonly agrees: boolean | "cannot-tell";
};

type Word = { readonly text: string; readonly start: number; readonly end: number };

/**
 * Every "left" and "right" of a text, English or Spanish, compared with the set-up. Only what the words make
 * plain is judged; a doubtful one says so. Left out altogether: words that are surely no side
 * ("all right", "right away", "left over").
 */
export function typedSides(text: string, setup: SetupSides): readonly TypedSide[] {
  const words = wordsOf(text);
  return words.flatMap((word, at) => {
    const named = sideAt(words, at);
    if (named === null) return [];
    const { side, of } = named;
    const { start, end } = word;
    const reading = of.plain[side].test(word.text) ? readingOf(words, at, setup, of) : UNKNOWN;
    const agrees = reading.sides === "cannot-tell" ? reading.sides : reading.sides === side;
    return [{ side, start, end, about: reading.about, agrees }];
  });
}

/** Whether a text names a side at all, for words that hold for children of either pattern. */
export function namesSide(text: string): boolean {
  const words = wordsOf(text);
  return words.some((_word, at) => sideAt(words, at) !== null);
}

/** The side a word names and the language it does so in. */
function sideAt(words: readonly Word[], at: number): { readonly side: Side; readonly of: SideWords } | null {
  const text = words[at]?.text ?? "";
  for (const of of SIDE_WORDS) {
    const side = SIDES.find((each) => of.names[each].test(text));
    if (side !== undefined) return isNoSide(words, at, side, of) ? null : { side, of };
  }
  return null;
}

/** `sides` is the side the set-up says; null when the set-up names none, so that naming one disagrees. */
type Reading = { readonly about: TypedSide["about"]; readonly sides: Side | null | "cannot-tell" };
const UNKNOWN: Reading = { about: "unknown", sides: "cannot-tell" };

const wordsOf = (text: string): readonly Word[] =>
  [...text.matchAll(/[\p{L}\p{N}]+(?:['’]\p{L}+)*|\n|[^\s]/gu)].map((found) => ({
    text: found[0].toLowerCase().replaceAll("’", "'"),
    start: found.index,
    end: found.index + found[0].length,
  }));

function isNoSide(words: readonly Word[], at: number, side: Side, of: SideWords): boolean {
  const [before, word, after] = [words[at - 1]?.text ?? "", words[at]?.text ?? "", words[at + 1]?.text ?? ""];
  if (word === "right" && after.startsWith("angle")) return true;
  if (of.pointing.has(before) || of.arm.has(after) || of.leg.has(after) || after === "side") return false;
  return of.plain[side].test(word) && (of.noSideBefore[side].has(before) || of.noSideAfter[side].has(after));
}

function readingOf(words: readonly Word[], at: number, setup: SetupSides, of: SideWords): Reading {
  const [before, after] = [words[at - 1]?.text ?? "", words[at + 1]?.text ?? ""];
  if (!of.pointing.has(before) && of.afterDoubtful.has(after)) return UNKNOWN;
  const forward = ahead(words, at, of);
  const found = forward ?? behind(words, at, of);
  if (found === null) return UNKNOWN;
  const [from, to] = pieceOf(words, Math.min(found, at), Math.max(found, at), of);
  const piece = words.slice(from, to).map((word) => word.text);
  const isUnsure = sentenceOf(words, at).some((word) => of.unsure.has(word.text));
  const reading = aboutOf(words, found, at, piece, setup, of);
  return isUnsure ? { about: reading.about, sides: "cannot-tell" } : reading;
}

/** The word a side stands before: "right TOP ARM", "left side of the LOW BACK", "left side DOWN". */
function ahead(words: readonly Word[], at: number, of: SideWords): number | null {
  for (let next = at + 1; next <= at + 6; next += 1) {
    const text = words[next]?.text;
    if (text === undefined) return null;
    const isHandSide = text === "hand" && words[next + 1]?.text === "side";
    if (isTold(text, of) && !isHandSide && text !== "shoulder") return next;
    if (text === "shoulder" && words[next + 1]?.text !== "blade") return next;
    if (text === "down" && words[next - 1]?.text === "side") return next;
    if (!of.betweenForward.has(text) && !isHandSide) return null;
  }
  return null;
}

/** The word a side stands after: "top ARM (right)", "LIE on your left", "BAGS: left". */
function behind(words: readonly Word[], at: number, of: SideWords): number | null {
  for (let next = at - 1; next >= Math.max(0, at - 6); next -= 1) {
    const text = words[next]?.text ?? "";
    if (isTold(text, of)) return next;
    if (text === "down" && words[next - 1]?.text === "side") return next;
    if (of.turn.has(text)) return words.slice(next, at).some((word) => of.onto.has(word.text)) ? next : null;
    if (!of.betweenBackward.has(text)) return null;
  }
  return null;
}

const isTold = (text: string, of: SideWords): boolean => [of.arm, of.leg, of.prop, of.breath, of.lie, of.trunk].some((words) => words.has(text));

function aboutOf(words: readonly Word[], found: number, at: number, piece: readonly string[], setup: SetupSides, of: SideWords): Reading {
  const told = words[found]?.text ?? "";
  if (of.arm.has(told) || of.leg.has(told)) return limbReading(words, found, at, piece, setup, of);
  const has = (group: ReadonlySet<string>): boolean => piece.some((text) => group.has(text));
  const isLying = of.lie.has(told) || of.turn.has(told) || told === "down" || has(of.lie) || piece.includes("onto");
  const kinds = { lie: isLying, prop: has(of.prop), breath: has(of.breath) };
  const [about, other] = (["lie", "prop", "breath"] as const).filter((kind) => kinds[kind]);
  if (about === undefined || other !== undefined) return UNKNOWN;
  if (about === "lie") return { about, sides: isDescribed(words, at, of) ? "cannot-tell" : setup.lieOn };
  const isUnder = has(of.under);
  if (has(of.moving) && !(about === "prop" && isUnder)) return { about, sides: "cannot-tell" };
  return { about, sides: about === "prop" ? (setup.prop?.side ?? null) : (setup.breatheInto?.side ?? null) };
}

/** "You are lying on your right" tells what was seen, not what to do. */
const isDescribed = (words: readonly Word[], at: number, of: SideWords): boolean =>
  sentenceOf(words, at).some(({ text }, index, all) => of.seen.has(text) && of.lie.has(all[index + 1]?.text ?? ""));

/** A child has both arms and both legs: only the top or the bottom one has a side to compare. */
function limbReading(words: readonly Word[], found: number, at: number, piece: readonly string[], setup: SetupSides, of: SideWords): Reading {
  const about = of.arm.has(words[found]?.text ?? "") ? "arm" : "leg";
  const [first, last] = [Math.min(found, at), Math.max(found, at)];
  const beside = words.slice(Math.max(0, first - 1), last + 1).map((word) => word.text);
  if (beside.some((text) => of.partOf.has(text))) return { about, sides: "cannot-tell" };
  const isBlade = piece.some((text) => of.blade.has(text));
  const isTop = beside.includes(of.top) || (!beside.includes(of.bottom) && piece.some((text) => text === of.top || of.topOf[about].has(text)));
  const isBottom =
    beside.includes(of.bottom) ||
    (!beside.includes(of.top) && !isBlade && piece.some((text) => text === of.bottom || of.bottomOf[about].has(text)));
  if (isTop === isBottom) return { about, sides: "cannot-tell" };
  if (about === "arm") return { about, sides: (isTop ? setup.topArm : setup.bottomArm).side };
  return { about, sides: (isTop ? setup.topLeg : setup.bottomLeg).side };
}

/** From the start of the piece of the first word to the end of that of the last. */
function pieceOf(words: readonly Word[], first: number, last: number, of: SideWords): readonly [from: number, to: number] {
  let from = first;
  while (from > 0 && !of.endsPiece.has(words[from - 1]?.text ?? "")) from -= 1;
  let to = last + 1;
  while (to < words.length && !of.endsPiece.has(words[to]?.text ?? "")) to += 1;
  return [from, to];
}

function sentenceOf(words: readonly Word[], at: number): readonly Word[] {
  let from = at;
  while (from > 0 && !ENDS_SENTENCE.has(words[from - 1]?.text ?? "")) from -= 1;
  let to = at;
  while (to < words.length && !ENDS_SENTENCE.has(words[to]?.text ?? "")) to += 1;
  return words.slice(from, to);
}
