/** Leaves of the page tree, as its root counts them (ISO 32000-2, 7.7.3). */
export const pagesIn = (pdf: Buffer): number => Number(/\/Type \/Pages[\s\S]*?\/Count (\d+)/.exec(pdf.toString("latin1"))?.[1]);
