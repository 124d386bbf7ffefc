type Place = {
  readonly width: number;
  readonly height: number;
  readonly fontSize: number;
  /** Pixels between the note's place and its words. */
  readonly gap: number;
  /** On which side of their place the words stand where there is room; right unless asked otherwise. */
  readonly prefers?: "left" | "right";
};

export type NoteBlock = {
  readonly lines: readonly string[];
  readonly left: number;
  readonly firstBaseline: number;
  readonly lineHeight: number;
  readonly fontSize: number;
};

/**
 * Where a note's words go: broken into lines, beside their place, inside the picture. The face is
 * not known here, so letters are taken wide: lines come out short rather than cut off. Words too
 * many for the picture are set smaller.
 */
export function wrapNote(text: string, at: { readonly x: number; readonly y: number }, place: Place): NoteBlock {
  const block = setLines(text, place.width, place.fontSize);
  const tall = block.lines.length * block.lineHeight;
  if (tall > place.height && place.fontSize > SMALLEST) {
    return wrapNote(text, at, { ...place, fontSize: place.fontSize * 0.85 });
  }
  const wide = Math.max(...block.lines.map((line) => widthOf(line) * place.fontSize));
  const [onTheRight, onTheLeft] = [at.x + place.gap, at.x - place.gap - wide];
  const isRight = place.prefers === "left" ? onTheLeft < 0 && onTheRight + wide <= place.width : onTheRight + wide <= place.width;
  const top = Math.max(0, Math.min(at.y - tall / 2, place.height - tall));
  return {
    ...block,
    left: Math.max(0, Math.min(isRight ? onTheRight : onTheLeft, place.width - wide)),
    firstBaseline: top + place.fontSize,
    fontSize: place.fontSize,
  };
}

/** Pixels: below this nobody reads it, and the loop must end. */
const SMALLEST = 6;

/**
 * Letters as wide as the type is high or nearly so: East Asian ones and pictographs (Unicode Standard
 * Annex 11, wide), and the widest of ours.
 */
const WIDE = /[\u1100-\u115F\u2E80-\uA4CF\uAC00-\uD7A3\uF900-\uFAFF\uFE30-\uFE6F\uFF00-\uFF60\uFFE0-\uFFE6\p{Extended_Pictographic}\u{20000}-\u{3FFFD}MWmwÆæŒœ@%¼½¾]/u;
/** Western European letters and the usual quotation marks and dash: narrower than those of most other alphabets. */
const WESTERN = /^[\u0020-\u017F\u2010-\u2013\u2018-\u201E]/u;

/**
 * Shares of the type's size, no less than in the widest face that may be met: DejaVu Sans Bold, which
 * stands in where none of `MARK_FACE` is installed (its own advance widths; Greek and Cyrillic as written today).
 */
function letterWidth(letter: string): number {
  if (WIDE.test(letter)) return 1.18;
  if (!WESTERN.test(letter)) return /^\p{Lu}/u.test(letter) ? 1.42 : 1.14;
  return /^[\p{Lu}&+<=>#~^¬±×÷]/u.test(letter) ? 0.88 : 0.72;
}

/** What a reader sees as one letter: a base with what stands on it, or pictographs joined into one. */
const lettersOf = (text: string): readonly string[] => text.match(/\P{M}\p{M}*(?:\u200D\P{M}\p{M}*)*|\p{M}+/gsu) ?? [];

/** In sizes of the type. */
export const widthOf = (line: string): number => lettersOf(line).reduce((sum, letter) => sum + letterWidth(letter), 0);

function setLines(text: string, width: number, fontSize: number) {
  // Half the picture's width, so that the words leave the other half to be seen.
  const most = (width * 0.5) / fontSize;
  const lines = text.split("\n").flatMap((paragraph) => breakLines(paragraph, most));
  return { lines, lineHeight: fontSize * 1.25 };
}

function breakLines(paragraph: string, most: number): readonly string[] {
  const lines: string[] = [];
  let line = "";
  for (const word of paragraph.split(/\s+/u).flatMap((each) => cut(each, most))) {
    const longer = line === "" ? word : `${line} ${word}`;
    if (widthOf(longer) <= most) line = longer;
    else {
      if (line !== "") lines.push(line);
      line = word;
    }
  }
  return line === "" ? lines : [...lines, line];
}

/** A word longer than a line is cut, by whole letters. */
function cut(word: string, most: number): readonly string[] {
  const parts: string[] = [];
  let part = "";
  for (const letter of lettersOf(word)) {
    if (part !== "" && widthOf(part + letter) > most) {
      parts.push(part);
      part = "";
    }
    part += letter;
  }
  return part === "" ? parts : [...parts, part];
}
