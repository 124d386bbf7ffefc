/** The steps of sending, in their order. */
export const STEPS = ["photos", "symptoms", "last"] as const;
export type Step = (typeof STEPS)[number];

/** "Step 1 of 3", by the sentence in the reader's language. */
export const stepSaid = (words: Readonly<Record<string, string>>, step: Step): string =>
  (words["stepOf"] ?? "").replace("{step}", String(STEPS.indexOf(step) + 1)).replace("{of}", String(STEPS.length));
