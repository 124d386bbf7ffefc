import "server-only";
import type { OfferedCue } from "@/app/desk/children/[childId]/sets/[photoSetId]/cue-field";
import type { SetupSides } from "@/lib/domain/setup/setup-sides";
import { offerCue, ownWordsIn } from "@/lib/domain/words/cue";
import { say } from "@/lib/messages/say";
import type { LibraryCue } from "@/lib/records/cues";

/** An item's cues with this child's sides, without those that do not fit the set-up; a retired one only while a draft holds it. */
export const offeredCues = (library: readonly LibraryCue[], itemKey: string, setup: SetupSides, chosen: string | undefined): readonly OfferedCue[] =>
  library.filter((cue) => cue.itemKey === itemKey && (!cue.isRetired || cue.id === chosen)).flatMap((cue) => {
    const offered = offerCue(cue.words, setup, (side) => say("common")("side", { side }));
    return offered.ok ? [{ id: cue.id, words: offered.value }] : [];
  });

/**
 * A draft's fields of one item. Older drafts hold a cue's text instead of its id: no cue is chosen by
 * guess, and the text goes on as own words.
 */
export function savedOf(library: readonly LibraryCue[], itemKey: string, fields: Readonly<Record<string, string>>): Record<string, string> {
  const [verdict, cue, words] = ["verdict", "cue", "words"].map((part) => fields[`${part}.${itemKey}`] ?? "");
  const isText = cue !== undefined && /\s/.test(cue) && !library.some((each) => each.id === cue);
  const saved = { verdict, cue: isText ? "" : cue, words: isText ? [cue, words].filter((each) => each !== "").join(" ") : words };
  return Object.fromEntries(Object.entries(saved).flatMap(([part, value]) => (value ? [[`${part}.${itemKey}`, value]] : [])));
}

/**
 * An answer's fields, each library cue chosen again where the library still says what the family read, own
 * words after it. Where it says something else now, all of it stays as own words: these are what was read.
 */
export function chosenAgain(library: readonly LibraryCue[], setup: SetupSides, fields: Readonly<Record<string, string>>): Record<string, string> {
  const again = Object.entries(fields).flatMap(([name, cueId]): (readonly [string, string])[] => {
    if (!name.startsWith("cue.")) return [];
    const itemKey = name.slice("cue.".length);
    const cue = offeredCues(library, itemKey, setup, cueId).find((each) => each.id === cueId);
    const own = cue ? ownWordsIn(fields[`words.${itemKey}`] ?? "", cue.words) : null;
    return own === null ? [[name, ""]] : [[`words.${itemKey}`, own]];
  });
  return Object.fromEntries(Object.entries({ ...fields, ...Object.fromEntries(again) }).filter(([, value]) => value !== ""));
}
