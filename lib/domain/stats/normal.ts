/** How sure an interval claims to be. */
export type Confidence = 0.9 | 0.95 | 0.99;

/** Two-sided standard normal quantiles, to double precision. */
const Z: Readonly<Record<Confidence, number>> = { 0.9: 1.6448536269514722, 0.95: 1.959963984540054, 0.99: 2.5758293035489004 };

export const zOf = (confidence: Confidence): number => Z[confidence];
