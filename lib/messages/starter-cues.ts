import "server-only";
import exercise from "@/lib/messages/en/exercise.json";
import { say } from "@/lib/messages/say";

const CUES: Readonly<Record<string, Readonly<Record<string, string>>>> = exercise.cues;

/** The shipped cues of an item, best first, their placeholders in braces still to be filled; none for an unknown item. */
export const starterCues = (itemKey: string): readonly string[] =>
  Object.hasOwn(CUES, itemKey) ? Object.keys(CUES[itemKey] ?? {}).map((each) => say("exercise")(`cues.${itemKey}.${each}`)) : [];
