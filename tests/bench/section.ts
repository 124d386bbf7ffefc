/** One line of a table: what was measured, how often, and the figures with their unit in the name. */
export type Line = { readonly what: string } & Readonly<Record<string, number | string>>;
export type Section = { readonly name: string; readonly how: string; readonly lines: readonly Line[] };

/** Middle, least and most of several runs. */
export function spread(values: readonly number[], digits = 0): { readonly median: number; readonly least: number; readonly most: number } {
  const sorted = [...values].sort((a, b) => a - b);
  const at = (index: number): number => Number((sorted[index] ?? Number.NaN).toFixed(digits));
  return { median: at(Math.floor(sorted.length / 2)), least: at(0), most: at(sorted.length - 1) };
}
