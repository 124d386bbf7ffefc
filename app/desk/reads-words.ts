import "server-only";
import { say } from "@/lib/messages/say";
import type { CarerLanguage } from "@/lib/records/language";

/** In what language the family reads, for who writes to it; nothing where all read the desk's. */
export const readsWords = (languages: readonly CarerLanguage[]): { readonly hint?: string } =>
  languages.length > 0 ? { hint: languages.map(({ name, language }) => say("desk")("answering.reads", { name, language })).join(" ") } : {};
