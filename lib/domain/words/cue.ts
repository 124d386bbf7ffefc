import { ok, refuse, type Result } from "@/lib/domain/result";
import type { SetupSides } from "@/lib/domain/setup/setup-sides";
import type { Side } from "@/lib/domain/sides";

/** Words in braces that a cue may hold, such as "Lie on the {side down} side". */
const PLACEHOLDERS = {
  "side down": (setup) => setup.lieOn,
  "top arm side": (setup) => setup.topArm.side,
  "bottom arm side": (setup) => setup.bottomArm.side,
  "top leg side": (setup) => setup.topLeg.side,
  "bottom leg side": (setup) => setup.bottomLeg.side,
  "breath side": (setup) => setup.breatheInto?.side ?? null,
  "prop side": (setup) => setup.prop?.side ?? null,
} as const satisfies Record<string, (setup: SetupSides) => Side | null>;

export type Placeholder = keyof typeof PLACEHOLDERS;
export const CUE_PLACEHOLDERS = Object.keys(PLACEHOLDERS) as Placeholder[]; // the keys of the object just above

const isPlaceholder = (name: string): name is Placeholder => Object.hasOwn(PLACEHOLDERS, name);

export type CueToken =
  | { readonly kind: "words"; readonly words: string }
  | { readonly kind: "side"; readonly side: Side; readonly placeholder: Placeholder };

/**
 * A cue cut into words and sides, the sides taken from the set-up.
 * Refused: `cue-placeholder-unknown` (a brace that is no placeholder, or has no partner),
 * `cue-side-missing` (the set-up names no such side: nobody fills one in by guess).
 */
export function cueTokens(cue: string, setup: SetupSides): Result<readonly CueToken[]> {
  const tokens: CueToken[] = [];
  for (const part of cue.split(/(\{[^{}]*\})/)) {
    if (part === "") continue;
    if (!/[{}]/.test(part)) {
      tokens.push({ kind: "words", words: part });
      continue;
    }
    const name = part.slice(1, -1).trim().replaceAll(/\s+/g, " ").toLowerCase();
    if (!part.startsWith("{") || !part.endsWith("}") || !isPlaceholder(name)) {
      return refuse("cue-placeholder-unknown", { field: "cue" });
    }
    const side = PLACEHOLDERS[name](setup);
    if (side === null) return refuse("cue-side-missing", { values: { placeholder: name }, field: "cue" });
    tokens.push({ kind: "side", side, placeholder: name });
  }
  return ok(tokens);
}

/** The cue as the family reads it. `word` gives a side's word, such as "LEFT". Refused as `cueTokens`. */
export function fillCue(cue: string, setup: SetupSides, word: (side: Side) => string): Result<string> {
  const tokens = cueTokens(cue, setup);
  if (!tokens.ok) return tokens;
  return ok(tokens.value.map((token) => (token.kind === "words" ? token.words : word(token.side))).join(""));
}
