import { ok, refuse, type Result } from "@/lib/domain/result";
import type { SetupSides } from "@/lib/domain/setup/setup-sides";
import { checkCue } from "@/lib/domain/words/check-cue";
import { cueParts } from "@/lib/domain/words/cue";

/**
 * A translation as it may be stored: a cue's rules, and every side of its source as often as there. Refused:
 * as `checkCue`, and with `translation-sides-differ`.
 */
export function checkTranslation(source: string, typed: string, setups: readonly SetupSides[]): Result<string> {
  const checked = checkCue(typed, setups);
  if (!checked.ok) return checked;
  return placeholdersIn(source) === placeholdersIn(checked.value) ? ok(checked.value) : refuse("translation-sides-differ", { field: "words" });
}

function placeholdersIn(words: string): string {
  const parts = cueParts(words);
  return (parts.ok ? parts.value : []).flatMap((part) => (part.kind === "placeholder" ? [part.placeholder] : [])).sort().join(", ");
}
