import { ok, refuse, type Result } from "@/lib/domain/result";
import type { SetupSides } from "@/lib/domain/setup/setup-sides";
import { cueParts, offerCue } from "@/lib/domain/words/cue";

/** Longer is no cue any more. Our own choice, no source. */
export const CUE_LENGTH = 280;

/** Invisible characters: control, format (they can turn the reading direction), halves of a pair, private and unassigned. */
const UNWRITABLE = /[\p{C}\u2028\u2029]/u;

/**
 * A cue as it may be stored: in one line, sides as placeholders alone, and no side that its own words
 * contradict in any of `setups`, the set-ups it may be filled for. One that lacks a side in some of
 * them is fine, and is not offered there. Lengths are UTF-16 units. Refused: `cue-empty`,
 * `cue-too-long`, `cue-characters`, `cue-placeholder-unknown`, `cue-side-typed`, `cue-side-disagree`.
 */
export function checkCue(typed: string, setups: readonly SetupSides[]): Result<string> {
  const cue = typed.normalize("NFC").replaceAll(/[ \t\r\n\u00A0]+/g, " ").trim();
  if (cue.length > CUE_LENGTH) return refuse("cue-too-long", { ...FIELD, values: { length: cue.length, max: CUE_LENGTH } });
  if (UNWRITABLE.test(cue)) return refuse("cue-characters", FIELD);
  const parts = cueParts(cue);
  if (!parts.ok) return refuse(parts.problem.code, FIELD);
  const words = parts.value.map((part) => (part.kind === "words" ? part.words : "")).join(" ");
  if (!/\p{L}/u.test(words)) return refuse("cue-empty", FIELD);
  if (holdsSide(words)) return refuse("cue-side-typed", FIELD);
  const plain = parts.value.map((part) => (part.kind === "words" ? part.words : `{${part.placeholder}}`)).join("");
  const disagrees = setups.some((setup) => {
    return SIDE_FORMS.some((form) => {
      const offered = offerCue(plain, setup, (side) => form[side]);
      return !offered.ok && offered.problem.code === "cue-side-disagree";
    });
  });
  return disagrees ? refuse("cue-side-disagree", FIELD) : ok(plain);
}

/** A side is judged by the words of its own language, so each is tried. */
const SIDE_FORMS = [{ left: "LEFT", right: "RIGHT" }, { left: "IZQUIERDO", right: "DERECHO" }] as const;

const FIELD = { field: "words" } as const;

/**
 * "left", "right" and a lone L or R, in whatever form of the letters, and the same in Spanish. "All right" and "right angle" count too: nobody
 * here may tell by guess, and both can be said otherwise.
 */
const holdsSide = (words: string): boolean => /(?<!\p{L})(?:left|right|izquierd|derech|izqd?[oa]?\.|izda\.|dch[oa]?\.|[LR](?![\p{L}\p{N}'’]))/u.test(lowered(words.normalize("NFKC")));

/** Small letters but for a lone capital, which alone stands for a side. */
const lowered = (words: string): string => words.replaceAll(/\p{L}{2,}/gu, (word) => word.toLowerCase());
