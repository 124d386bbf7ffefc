import "server-only";
import { say } from "@/lib/messages/say";

const BOARD = [
  "marks", "addArrow", "addRing", "addNote", "noteText", "remove", "zoomIn", "zoomOut", "undo", "belongs", "noItem", "marksHelp", "noScript",
] as const;
export type BoardWords = Readonly<Record<(typeof BOARD)[number] | "markArrow" | "markRing" | "markNote", string>>;

/** The board's words; `{n}` stays for the board to fill. */
export function boardWords(): BoardWords {
  const t = say("desk");
  const plain = Object.fromEntries(BOARD.map((key) => [key, t(`answering.${key}`)]));
  const named = { markArrow: t("answering.mark.arrow", { n: "{n}" }), markRing: t("answering.mark.ring", { n: "{n}" }), markNote: t("answering.mark.note", { n: "{n}" }) };
  return { ...plain, ...named } as BoardWords; // one entry for every key of BOARD
}

const KEEPER = ["draftSaved", "draftSaving", "draftFailed", "draftStale", "keepThis", "showOther", "takeOver", "keys"] as const;
export type KeeperWords = Readonly<Record<(typeof KEEPER)[number] | "claimedBy", string>> & { readonly restored: string | null };

export function keeperWords(savedAt: string | null): KeeperWords {
  const t = say("desk");
  const plain = Object.fromEntries(KEEPER.map((key) => [key, t(`answering.${key}`)]));
  const restored = savedAt === null ? null : t("answering.draftRestored", { when: savedAt });
  return { ...plain, claimedBy: t("answering.claimedBy", { name: "{name}" }), restored } as KeeperWords; // one entry for every key of KEEPER
}
