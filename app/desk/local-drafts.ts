import type { DraftFields } from "@/lib/domain/answering/draft-fields";

/**
 * What the server has not got yet, kept in this browser: one copy for each person and photo set. It is
 * gone once the server has it, once the set is answered, and when somebody signs out.
 */
const PREFIX = "trueside.draft.";
/** Nobody comes back to one after that, and it holds words about a child. */
const LIFE_MS = 7 * 24 * 3_600_000;

export const localKey = (personId: string, photoSetId: string): string => `${PREFIX}${personId}.${photoSetId}`;

/** False where the browser keeps nothing: full, or forbidden. */
export function writeLocal(key: string, fields: DraftFields, now: number): boolean {
  try {
    window.localStorage.setItem(key, JSON.stringify({ at: now, fields }));
    return true;
  } catch {
    return false; // the caller says so on the page
  }
}

export function readLocal(key: string): DraftFields | null {
  const kept = parsed(stored()?.getItem(key) ?? null);
  return kept ? kept.fields : null;
}

export function removeLocal(key: string): void {
  stored()?.removeItem(key);
}

/** Removes every copy whose time is over. */
export function sweepLocal(now: number): void {
  const store = stored();
  if (!store) return;
  for (const key of Object.keys(store)) {
    if (key.startsWith(PREFIX) && (parsed(store.getItem(key))?.at ?? 0) < now - LIFE_MS) store.removeItem(key);
  }
}

function stored(): Storage | null {
  try {
    return window.localStorage;
  } catch {
    return null; // forbidden by the browser's settings
  }
}

function parsed(text: string | null): { readonly at: number; readonly fields: DraftFields } | null {
  if (text === null) return null;
  try {
    const kept: unknown = JSON.parse(text);
    if (typeof kept !== "object" || kept === null || !("at" in kept) || !("fields" in kept)) return null;
    const { at, fields } = kept;
    if (typeof at !== "number" || typeof fields !== "object" || fields === null) return null;
    return { at, fields: Object.fromEntries(Object.entries(fields).filter((field): field is [string, string] => typeof field[1] === "string")) };
  } catch {
    return null; // somebody else's text under our name
  }
}
