import type { MarkKind } from "@/lib/domain/marks/marks";
import type { ViewStep } from "@/lib/domain/marks/viewport";

/** Single keys of the board; the checklist has 1 to 4, n, p, r and s, and the sheet of keys has ?. */
export const TOOL_KEYS: Readonly<Record<MarkKind, string>> = { arrow: "a", ring: "o", line: "l", angle: "g", note: "t" };

export type Direction = "left" | "right" | "up" | "down";

/** What a key asks of the board. `isLarge`: with Shift. */
export type BoardKey =
  | { readonly ask: "tool"; readonly kind: MarkKind }
  | { readonly ask: "go"; readonly direction: Direction; readonly isLarge: boolean }
  | { readonly ask: "view"; readonly step: ViewStep }
  | { readonly ask: "photo" | "mark"; readonly by: 1 | -1 }
  | { readonly ask: "undo" | "redo" | "place" | "remove" | "leave" }
  | { readonly ask: "hold" };

type Pressed = { readonly key: string; readonly ctrlKey: boolean; readonly metaKey: boolean; readonly altKey: boolean; readonly shiftKey: boolean };

/** Null for a key that is not the board's. */
export function boardKey({ key, ctrlKey, metaKey, altKey, shiftKey }: Pressed): BoardKey | null {
  if (altKey) return null;
  const low = key.toLowerCase();
  if (ctrlKey || metaKey) return low === "z" ? { ask: shiftKey ? "redo" : "undo" } : low === "y" && !metaKey ? { ask: "redo" } : null;
  const kind = shiftKey ? undefined : KINDS.get(low);
  if (kind) return { ask: "tool", kind };
  const direction = DIRECTIONS[key];
  if (direction) return { ask: "go", direction, isLarge: shiftKey };
  return low === "v" ? { ask: "photo", by: shiftKey ? -1 : 1 } : (OTHERS[key] ?? null);
}

const KINDS = new Map(Object.entries(TOOL_KEYS).map(([kind, key]) => [key, kind as MarkKind])); // its keys are the kinds
const DIRECTIONS: Readonly<Record<string, Direction>> = { ArrowLeft: "left", ArrowRight: "right", ArrowUp: "up", ArrowDown: "down" };
const OTHERS: Readonly<Record<string, BoardKey>> = {
  "+": { ask: "view", step: "in" },
  "=": { ask: "view", step: "in" },
  "-": { ask: "view", step: "out" },
  "0": { ask: "view", step: "whole" },
  "[": { ask: "mark", by: -1 },
  "]": { ask: "mark", by: 1 },
  Enter: { ask: "place" },
  Delete: { ask: "remove" },
  Backspace: { ask: "remove" },
  Escape: { ask: "leave" },
  " ": { ask: "hold" },
};
