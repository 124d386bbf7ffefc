import "server-only";
import type { Reader } from "@/lib/domain/words/reader";
import { say } from "@/lib/messages/say";

const ASKED = ["title", "what", "who", "end", "yes", "notNow", "keeping", "isKept", "failed"] as const;
/** The question on the first page. */
export const keepWords = (reader: Reader) => wordsOf("ask", ASKED, reader);

const CHOSEN = ["title", "who", "isKept", "isNotKept", "failed", "keep", "forget"] as const;
/** The choice on the page about oneself. */
export const choiceWords = (reader: Reader) => wordsOf("account", CHOSEN, reader);

const wordsOf = <K extends string>(part: string, keys: readonly K[], reader: Reader): Readonly<Record<K, string>> =>
  Object.fromEntries(keys.map((key) => [key, say("kept", reader)(`${part}.${key}`)])) as Record<K, string>; // each key, once
