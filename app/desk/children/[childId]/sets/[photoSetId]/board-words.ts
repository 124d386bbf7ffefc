import "server-only";
import { TOOL_KEYS } from "@/app/desk/children/[childId]/sets/[photoSetId]/board-keys";
import type { KeyLine } from "@/app/desk/children/[childId]/sets/[photoSetId]/desk-keys";
import type { MarkLabels } from "@/lib/domain/marks/draw";
import { MARK_KINDS } from "@/lib/domain/marks/marks";
import marks from "@/lib/messages/en/marks.json";
import { markLabels } from "@/lib/messages/mark-labels";
import { say } from "@/lib/messages/say";

type BoardWord = keyof typeof marks.board;
/** Placeholders stay in the words, for the board to fill as it is used. */
export type BoardWords = Readonly<Record<BoardWord, string>> & { readonly labels: MarkLabels };

const KEPT = Object.fromEntries(["mark", "n", "item", "percent", "photo"].map((name) => [name, `{${name}}`]));

export function boardWords(): BoardWords {
  const t = say("marks");
  const words = Object.fromEntries(Object.keys(marks.board).map((key) => [key, t(`board.${key}`, KEPT)]));
  return { ...words, labels: markLabels() } as BoardWords; // one entry for every key of the catalogue
}

/** The board's keys for the sheet of keys. */
export function boardKeyLines(): readonly KeyLine[] {
  const t = say("marks");
  return [
    ...MARK_KINDS.map((kind) => ({ keys: TOOL_KEYS[kind], does: t("keys.tool", { mark: t(`board.${kind}`) }) })),
    { keys: "← ↑ → ↓", does: t("keys.arrows") },
    { keys: "[ ]", does: t("keys.switch") },
    { keys: "Delete", does: t("keys.delete") },
    { keys: "Ctrl+Z Ctrl+Y", does: t("keys.undo") },
    { keys: "+ − 0", does: t("keys.zoom") },
    { keys: "Space", does: t("keys.space") },
    { keys: "v", does: t("keys.photo") },
    { keys: "Esc", does: t("keys.escape") },
  ];
}
