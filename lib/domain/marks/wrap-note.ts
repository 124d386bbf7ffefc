type Place = {
  readonly width: number;
  readonly height: number;
  readonly fontSize: number;
  /** Pixels between the note's place and its words. */
  readonly gap: number;
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
 * not known here, so a letter is taken as 0.68 of the size, wide for a bold sans-serif face (from looking at one):
 * lines come out short rather than cut off. Words too many for the picture are set smaller.
 */
export function wrapNote(text: string, at: { readonly x: number; readonly y: number }, place: Place): NoteBlock {
  const block = setLines(text, place.width, place.fontSize);
  const tall = block.lines.length * block.lineHeight;
  if (tall > place.height && place.fontSize > SMALLEST) {
    return wrapNote(text, at, { ...place, fontSize: place.fontSize * 0.85 });
  }
  const wide = Math.max(...block.lines.map((line) => widthOf(line, place.fontSize)));
  const onTheRight = at.x + place.gap + wide <= place.width;
  const left = onTheRight ? at.x + place.gap : at.x - place.gap - wide;
  const top = Math.max(0, Math.min(at.y - tall / 2, place.height - tall));
  return {
    ...block,
    left: Math.max(0, Math.min(left, place.width - wide)),
    firstBaseline: top + place.fontSize,
    fontSize: place.fontSize,
  };
}

/** Pixels: below this nobody reads it, and the loop must end. */
const SMALLEST = 6;
const LETTER = 0.68;

const widthOf = (line: string, fontSize: number): number => [...line].length * LETTER * fontSize;

function setLines(text: string, width: number, fontSize: number) {
  // Half the picture's width, so that the words leave the other half to be seen.
  const most = Math.max(1, Math.floor((width * 0.5) / (LETTER * fontSize)));
  const lines = text.split("\n").flatMap((paragraph) => breakLines(paragraph, most));
  return { lines, lineHeight: fontSize * 1.25 };
}

function breakLines(paragraph: string, most: number): readonly string[] {
  const lines: string[] = [];
  let line = "";
  for (const word of paragraph.split(/\s+/u).flatMap((each) => cut(each, most))) {
    const longer = line === "" ? word : `${line} ${word}`;
    if ([...longer].length <= most) line = longer;
    else {
      lines.push(line);
      line = word;
    }
  }
  return line === "" ? lines : [...lines, line];
}

/** A word longer than a line is cut, by whole characters. */
function cut(word: string, most: number): readonly string[] {
  const letters = [...word];
  return Array.from({ length: Math.ceil(letters.length / most) }, (_none, part) =>
    letters.slice(part * most, (part + 1) * most).join(""),
  );
}
