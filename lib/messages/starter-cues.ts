import "server-only";
import exercise from "@/lib/messages/en/exercise.json";
import { say } from "@/lib/messages/say";

const CUES: Readonly<Record<string, Readonly<Record<string, string>>>> = exercise.cues;

/** `key` stays for ever, since verdicts are stored with it: words may be bettered, their meaning not changed under it. */
export type StarterCue = { readonly key: string; readonly words: string };

/** The shipped cues of an item, best first, their placeholders in braces still to be filled; none for an unknown item. */
export const starterCues = (itemKey: string): readonly StarterCue[] =>
  Object.hasOwn(CUES, itemKey)
    ? Object.keys(CUES[itemKey] ?? {}).map((name) => ({ key: `${itemKey}.${name}`, words: say("exercise")(`cues.${itemKey}.${name}`) }))
    : [];
