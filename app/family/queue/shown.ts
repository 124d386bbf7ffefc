import type { Entry } from "@/lib/domain/sending/entry";

export type Shown = {
  /** Null until the phone was asked. */
  readonly entries: readonly Entry[] | null;
  /** The set in hand in this page, and how far it has come (0 to 1). */
  readonly live: { readonly id: string; readonly share: number } | null;
};
export const NOTHING_SHOWN: Shown = { entries: null, live: null };
