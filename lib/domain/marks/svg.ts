import { drawMarks, type MarkLabels } from "@/lib/domain/marks/draw";
import type { Mark } from "@/lib/domain/marks/marks";
import { MARK_FACE, MARK_WEIGHT, type MarkShape } from "@/lib/domain/marks/pen";

/** Hex colours, such as "#ffffff". */
export type MarkColours = { readonly ink: string; readonly halo: string };

/** The tokens `--mark` and `--halo`, which a picture file cannot look up. */
export const MARK_COLOURS: MarkColours = { ink: "#2b1745", halo: "#ffffff" };

/**
 * The same drawing as on screen, as an SVG document to lay over the upright photo of that size.
 * Throws on colours that are not hex and sizes that are not positive: those come from us. Marks
 * come parsed; of them only numbers and note text reach the document, the text escaped.
 */
export function marksToSvg(
  marks: readonly Mark[],
  width: number,
  height: number,
  colours: MarkColours,
  labels: MarkLabels,
  levelDegrees: number | null = null,
): string {
  if (![colours.ink, colours.halo].every((colour) => /^#[0-9a-f]{6}$/i.test(colour))) {
    throw new RangeError("mark colours are six-digit hex");
  }
  if (!(width > 0 && height > 0 && Number.isFinite(width * height))) throw new RangeError("a picture has a size");
  const shapes = drawMarks(marks, width, height, labels, levelDegrees).map((shape) => element(shape, colours[shape.layer]));
  return (
    `<svg xmlns="http://www.w3.org/2000/svg" width="${width}" height="${height}" viewBox="0 0 ${width} ${height}">` +
    `${shapes.join("")}</svg>`
  );
}

function element(shape: MarkShape, colour: string): string {
  switch (shape.kind) {
    case "path":
      return (
        `<path d="${shape.d}" fill="none" stroke="${colour}" stroke-width="${shape.strokeWidth}" ` +
        `stroke-linecap="round" stroke-linejoin="round"/>`
      );
    case "circle":
      return `<circle cx="${shape.cx}" cy="${shape.cy}" r="${shape.r}" fill="${colour}"/>`;
    case "text":
      return (
        `<text x="${shape.x}" y="${shape.y}" font-family="${MARK_FACE}" font-weight="${MARK_WEIGHT}" ` +
        `font-size="${shape.fontSize}" fill="${colour}" stroke="${shape.strokeWidth > 0 ? colour : "none"}" ` +
        `stroke-width="${shape.strokeWidth}" stroke-linejoin="round">${escapeXml(shape.text)}</text>`
      );
  }
}

/** XML 1.0, section 2.4 (the escapes) and 2.2 (the characters that may not stand in a document). */
export const escapeXml = (text: string): string =>
  text
    .replace(/[^\t\n\r\u{20}-\u{D7FF}\u{E000}-\u{FFFD}\u{10000}-\u{10FFFF}]/gu, "")
    .replaceAll("&", "&amp;")
    .replaceAll("<", "&lt;")
    .replaceAll(">", "&gt;")
    .replaceAll('"', "&quot;")
    .replaceAll("'", "&apos;");
