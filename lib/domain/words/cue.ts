import { ok, refuse, type Result } from "@/lib/domain/result";
import type { CueSides, SetupSides } from "@/lib/domain/setup/setup-sides";
import type { Side } from "@/lib/domain/sides";
import { typedSides } from "@/lib/domain/words/typed-sides";

/** Words in braces that a cue may hold, such as "Lie on the {side down} side". */
const PLACEHOLDERS = {
  "side down": (setup) => setup.lieOn,
  "top arm side": (setup) => setup.topArm.side,
  "bottom arm side": (setup) => setup.bottomArm.side,
  "top leg side": (setup) => setup.topLeg.side,
  "bottom leg side": (setup) => setup.bottomLeg.side,
  "breath side": (setup) => setup.breatheInto?.side ?? null,
  "prop side": (setup) => setup.prop?.side ?? null,
} as const satisfies Record<string, (setup: CueSides) => Side | null>;

export type Placeholder = keyof typeof PLACEHOLDERS;
export const CUE_PLACEHOLDERS = Object.keys(PLACEHOLDERS) as Placeholder[]; // the keys of the object just above

const isPlaceholder = (name: string): name is Placeholder => Object.hasOwn(PLACEHOLDERS, name);

/** In languages whose side words agree with what they are about: a leg, or an arm and all else. */
export const aboutOf = (placeholder: Placeholder): "leg" | "other" => (placeholder.includes("leg") ? "leg" : "other");

export type CuePart =
  | { readonly kind: "words"; readonly words: string }
  | { readonly kind: "placeholder"; readonly placeholder: Placeholder };

/** A cue cut into words and placeholders. Refused: `cue-placeholder-unknown`, for a brace that is none or has no partner. */
export function cueParts(cue: string): Result<readonly CuePart[]> {
  const parts: CuePart[] = [];
  for (const part of cue.split(/(\{[^{}]*\})/)) {
    if (part === "") continue;
    if (!/[{}]/.test(part)) {
      parts.push({ kind: "words", words: part });
      continue;
    }
    const name = part.slice(1, -1).trim().replaceAll(/\s+/g, " ").toLowerCase();
    if (!part.startsWith("{") || !part.endsWith("}") || !isPlaceholder(name)) {
      return refuse("cue-placeholder-unknown", { field: "cue" });
    }
    parts.push({ kind: "placeholder", placeholder: name });
  }
  return ok(parts);
}

export type CueToken =
  | { readonly kind: "words"; readonly words: string }
  | { readonly kind: "side"; readonly side: Side; readonly placeholder: Placeholder };

/**
 * A cue cut into words and sides, the sides taken from the set-up. Refused as `cueParts`, and with
 * `cue-side-missing`: the set-up names no such side, and nobody fills one in by guess.
 */
export function cueTokens(cue: string, setup: CueSides): Result<readonly CueToken[]> {
  const parts = cueParts(cue);
  if (!parts.ok) return parts;
  const tokens: CueToken[] = [];
  for (const part of parts.value) {
    if (part.kind === "words") {
      tokens.push(part);
      continue;
    }
    const side = PLACEHOLDERS[part.placeholder](setup);
    if (side === null) return refuse("cue-side-missing", { values: { placeholder: part.placeholder }, field: "cue" });
    tokens.push({ kind: "side", side, placeholder: part.placeholder });
  }
  return ok(tokens);
}

/** With a full stop where the sentence has no end of its own. */
export const ended = (words: string): string => (words === "" || /[.!?…]["'”’)]*$/.test(words) ? words : `${words}.`);

/** A cue and own words as two sentences, whether or not the cue ends in a full stop. */
export const joined = (cue: string, own: string): string => (cue === "" || own === "" ? `${cue}${own}` : `${ended(cue)} ${own}`);

/** The own words in what `joined` made with this cue; null when it was made with another. */
export function ownWordsIn(whole: string, cue: string): string | null {
  if (whole === cue) return "";
  const before = `${ended(cue)} `;
  return cue !== "" && whole.startsWith(before) ? whole.slice(before.length) : null;
}

/** The cue as the family reads it. `word` gives a side's word, such as "LEFT". Refused as `cueTokens`. */
export function fillCue(cue: string, setup: CueSides, word: (side: Side, placeholder: Placeholder) => string): Result<string> {
  const tokens = cueTokens(cue, setup);
  if (!tokens.ok) return tokens;
  return ok(tokens.value.map((token) => (token.kind === "words" ? token.words : word(token.side, token.placeholder))).join(""));
}

/**
 * The cue as it may be offered for one child: filled, and with no side that its own words contradict
 * ("Lie on the {top arm side} side"). Refused as `fillCue`, and with `cue-side-disagree`.
 */
export function offerCue(cue: string, setup: SetupSides, word: (side: Side, placeholder: Placeholder) => string): Result<string> {
  const filled = fillCue(cue, setup, word);
  if (!filled.ok) return filled;
  return typedSides(filled.value, setup).some((side) => side.agrees === false) ? refuse("cue-side-disagree", { field: "cue" }) : filled;
}

/** Which text a translation of a cue is of; stays when its words change. */
export const cueAbout = (exerciseKey: string, cueId: string): string => `cue ${exerciseKey} ${cueId}`;
