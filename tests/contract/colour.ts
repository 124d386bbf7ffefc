/**
 * Relative luminance and contrast ratio as WCAG 2.2 defines them (https://www.w3.org/TR/WCAG22/,
 * definitions "relative luminance" and "contrast ratio"). Colours are `#rrggbb`.
 */
export function contrast(one: string, other: string): number {
  const [light, dark] = [luminance(one), luminance(other)].sort((a, b) => b - a) as [number, number];
  return (light + 0.05) / (dark + 0.05);
}

export function luminance(colour: string): number {
  const digits = /^#([0-9a-f]{2})([0-9a-f]{2})([0-9a-f]{2})$/i.exec(colour);
  if (!digits) throw new Error(`${colour} is not #rrggbb`);
  const [red, green, blue] = digits.slice(1).map((pair) => linear(Number.parseInt(pair, 16))) as [number, number, number];
  return 0.2126 * red + 0.7152 * green + 0.0722 * blue;
}

/** @param channel 0 to 255 */
export function linear(channel: number): number {
  const share = channel / 255;
  return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4;
}
