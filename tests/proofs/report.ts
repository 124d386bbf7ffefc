/** What a proof found: figures to read, and every loss by name. A proof holds when there is no loss. */
export type Report = { readonly figures: Readonly<Record<string, number | string>>; readonly losses: readonly string[] };
