import type { SetupSides } from "@/lib/domain/setup/setup-sides";
import { SIDES, type Side } from "@/lib/domain/sides";
import {
  AFTER_DOUBTFUL, AFTER_LEFT, AFTER_RIGHT, ARM, BEFORE_WELL, BETWEEN_BACKWARD, BETWEEN_FORWARD, BOTTOM_OF, BREATH, ENDS_PIECE,
  ENDS_SENTENCE, LEG, LIE, MOVING, POINTING, PROP, TOP_OF, TRUNK, TURN, UNSURE,
} from "@/lib/domain/words/side-words";

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
 * Every "left" and "right" of an English text, compared with the set-up. Only what the words make
 * plain is judged; a doubtful one says so. Left out altogether: words that are surely no side
 * ("all right", "right away", "left over").
 */
export function typedSides(text: string, setup: SetupSides): readonly TypedSide[] {
  const words = wordsOf(text);
  return words.flatMap((word, at) => {
    const side = SIDES.find((each) => new RegExp(`^${each}(?:s|wards?|hand(?:ed)?|['’]s)?$`).test(word.text));
    if (side === undefined || isNoSide(words, at)) return [];
    const { start, end } = word;
    const plain = word.text === side;
    const reading = plain ? readingOf(words, at, setup) : UNKNOWN;
    const agrees = reading.sides === "cannot-tell" ? reading.sides : reading.sides === side;
    return [{ side, start, end, about: reading.about, agrees }];
  });
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

function isNoSide(words: readonly Word[], at: number): boolean {
  const [before, word, after] = [words[at - 1]?.text ?? "", words[at]?.text, words[at + 1]?.text ?? ""];
  if (word === "right" && after.startsWith("angle")) return true;
  if (POINTING.has(before) || ARM.has(after) || LEG.has(after) || after === "side") return false;
  return word === "right" ? BEFORE_WELL.has(before) || AFTER_RIGHT.has(after) : word === "left" && AFTER_LEFT.has(after);
}

function readingOf(words: readonly Word[], at: number, setup: SetupSides): Reading {
  const [before, after] = [words[at - 1]?.text ?? "", words[at + 1]?.text ?? ""];
  if (!POINTING.has(before) && AFTER_DOUBTFUL.has(after)) return UNKNOWN;
  const forward = ahead(words, at);
  const found = forward ?? behind(words, at);
  if (found === null) return UNKNOWN;
  const [from, to] = pieceOf(words, Math.min(found, at), Math.max(found, at));
  const piece = words.slice(from, to).map((word) => word.text);
  const isUnsure = sentenceOf(words, at).some((word) => UNSURE.has(word.text));
  const reading = aboutOf(words, found, at, piece, setup);
  return isUnsure ? { about: reading.about, sides: "cannot-tell" } : reading;
}

/** The word a side stands before: "right TOP ARM", "left side of the LOW BACK", "left side DOWN". */
function ahead(words: readonly Word[], at: number): number | null {
  for (let next = at + 1; next <= at + 6; next += 1) {
    const text = words[next]?.text;
    if (text === undefined) return null;
    const isHandSide = text === "hand" && words[next + 1]?.text === "side";
    if (isTold(text) && !isHandSide && text !== "shoulder") return next;
    if (text === "shoulder" && words[next + 1]?.text !== "blade") return next;
    if (text === "down" && words[next - 1]?.text === "side") return next;
    if (!BETWEEN_FORWARD.has(text) && !isHandSide) return null;
  }
  return null;
}

/** The word a side stands after: "top ARM (right)", "LIE on your left", "BAGS: left". */
function behind(words: readonly Word[], at: number): number | null {
  for (let next = at - 1; next >= Math.max(0, at - 6); next -= 1) {
    const text = words[next]?.text ?? "";
    if (isTold(text)) return next;
    if (text === "down" && words[next - 1]?.text === "side") return next;
    if (TURN.has(text)) return words.slice(next, at).some((word) => word.text === "onto") ? next : null;
    if (!BETWEEN_BACKWARD.has(text)) return null;
  }
  return null;
}

const isTold = (text: string): boolean => [ARM, LEG, PROP, BREATH, LIE, TRUNK].some((words) => words.has(text));

function aboutOf(words: readonly Word[], found: number, at: number, piece: readonly string[], setup: SetupSides): Reading {
  const told = words[found]?.text ?? "";
  if (ARM.has(told) || LEG.has(told)) return limbReading(words, found, at, piece, setup);
  const has = (group: ReadonlySet<string>): boolean => piece.some((text) => group.has(text));
  const isLying = LIE.has(told) || TURN.has(told) || told === "down" || has(LIE) || piece.includes("onto");
  const kinds = { lie: isLying, prop: has(PROP), breath: has(BREATH) };
  const [about, other] = (["lie", "prop", "breath"] as const).filter((kind) => kinds[kind]);
  if (about === undefined || other !== undefined) return UNKNOWN;
  if (about === "lie") return { about, sides: isDescribed(words, at) ? "cannot-tell" : setup.lieOn };
  const isUnder = ["under", "beneath", "below"].some((text) => piece.includes(text));
  if (has(MOVING) && !(about === "prop" && isUnder)) return { about, sides: "cannot-tell" };
  return { about, sides: about === "prop" ? (setup.prop?.side ?? null) : (setup.breatheInto?.side ?? null) };
}

/** "You are lying on your right" tells what was seen, not what to do. */
const isDescribed = (words: readonly Word[], at: number): boolean =>
  sentenceOf(words, at).some(({ text }, index, all) => ["are", "is", "you're"].includes(text) && LIE.has(all[index + 1]?.text ?? ""));

/** A child has both arms and both legs: only the top or the bottom one has a side to compare. */
function limbReading(words: readonly Word[], found: number, at: number, piece: readonly string[], setup: SetupSides): Reading {
  const about = ARM.has(words[found]?.text ?? "") ? "arm" : "leg";
  const [first, last] = [Math.min(found, at), Math.max(found, at)];
  const beside = words.slice(Math.max(0, first - 1), last + 1).map((word) => word.text);
  if (beside.includes("upper") || beside.includes("lower")) return { about, sides: "cannot-tell" };
  const isBlade = piece.includes("blade");
  const isTop = beside.includes("top") || (!beside.includes("bottom") && piece.some((text) => text === "top" || TOP_OF[about].has(text)));
  const isBottom =
    beside.includes("bottom") ||
    (!beside.includes("top") && !isBlade && piece.some((text) => text === "bottom" || BOTTOM_OF[about].has(text)));
  if (isTop === isBottom) return { about, sides: "cannot-tell" };
  if (about === "arm") return { about, sides: (isTop ? setup.topArm : setup.bottomArm).side };
  return { about, sides: (isTop ? setup.topLeg : setup.bottomLeg).side };
}

/** From the start of the piece of the first word to the end of that of the last. */
function pieceOf(words: readonly Word[], first: number, last: number): readonly [from: number, to: number] {
  let from = first;
  while (from > 0 && !ENDS_PIECE.has(words[from - 1]?.text ?? "")) from -= 1;
  let to = last + 1;
  while (to < words.length && !ENDS_PIECE.has(words[to]?.text ?? "")) to += 1;
  return [from, to];
}

function sentenceOf(words: readonly Word[], at: number): readonly Word[] {
  let from = at;
  while (from > 0 && !ENDS_SENTENCE.has(words[from - 1]?.text ?? "")) from -= 1;
  let to = at;
  while (to < words.length && !ENDS_SENTENCE.has(words[to]?.text ?? "")) to += 1;
  return words.slice(from, to);
}
