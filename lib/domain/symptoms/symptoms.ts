import type { SymptomTier } from "@/lib/domain/setup/go-ahead-facts";

/**
 * What a parent may notice, in two tiers. Urgent sends to emergency help at once; both stop all of
 * the child's exercises. Sources: red flags of child back pain in AJNR Table 1 (paediatric back
 * pain) and J Fam Pract 2020;69(8):E1-E8; chest pain, breathing and fainting: common practice, no source.
 */
export const SYMPTOMS = {
  "leg-weak-or-numb": "urgent",
  "bladder-or-bowel": "urgent",
  "chest-breath-faint": "urgent",
  "pain-four-or-more": "today",
  "pain-lasting": "today",
  "night-pain": "today",
  "fever-or-ill": "today",
  dizzy: "today",
  "recent-fall": "today",
  "new-limp": "today",
  "weight-loss": "today",
} as const satisfies Record<string, SymptomTier>;

export type SymptomKey = keyof typeof SYMPTOMS;
export const SYMPTOM_KEYS = Object.keys(SYMPTOMS) as SymptomKey[]; // the keys of the object just above

/** The strongest tier of what was noticed; null when nothing was. */
export function tierOf(noticed: readonly SymptomKey[]): SymptomTier | null {
  if (noticed.some((key) => SYMPTOMS[key] === "urgent")) return "urgent";
  return noticed.length > 0 ? "today" : null;
}
