import type { NoteBlock } from "@/lib/domain/marks/wrap-note";

/** A halo lies under the ink so that a mark reads on skin, cloth and floor alike. */
export type Layer = "halo" | "ink";

/** One drawing primitive, in pixels of the drawn picture, painted in the order given. */
export type MarkShape =
  | { readonly kind: "path"; readonly markId: string; readonly layer: Layer; readonly d: string; readonly strokeWidth: number }
  | {
      readonly kind: "circle";
      readonly markId: string;
      readonly layer: Layer;
      readonly cx: number;
      readonly cy: number;
      readonly r: number;
    }
  | {
      readonly kind: "text";
      readonly markId: string;
      readonly layer: Layer;
      readonly x: number;
      readonly y: number;
      readonly text: string;
      readonly fontSize: number;
      /** The halo's outline; nought for the ink, which is filled. */
      readonly strokeWidth: number;
    };

/**
 * Faces as wide as each other, letter by letter, one of which is on every usual system: a browser and
 * the flattening renderer, which choose differently for a bare "sans-serif", then set the same lines.
 */
export const MARK_FACE = "Liberation Sans, Arimo, Arial, Helvetica, sans-serif";
export const MARK_WEIGHT = 700;

/** The picture's pixels and the widths of ink and halo in it. */
export type Pen = { readonly width: number; readonly height: number; readonly ink: number; readonly halo: number };
export type Pixel = { readonly x: number; readonly y: number };

export function penFor(width: number, height: number): Pen {
  // A hundred-and-sixtieth of the shorter side is seen at arm's length on a phone: from trying.
  const ink = Math.max(2, Math.min(width, height) / 160);
  return { width, height, ink, halo: ink * 2.2 };
}

/** A path stroked twice; `thin` halves it, for what only helps to read the mark. */
export const stroked = (markId: string, d: string, pen: Pen, thin = 1): readonly MarkShape[] => [
  { kind: "path", markId, layer: "halo", d, strokeWidth: (pen.halo - pen.ink) + pen.ink * thin },
  { kind: "path", markId, layer: "ink", d, strokeWidth: pen.ink * thin },
];

export const written = (markId: string, block: NoteBlock): readonly MarkShape[] =>
  (["halo", "ink"] as const).flatMap((layer) =>
    block.lines.map((text, index): MarkShape => ({
      kind: "text",
      markId,
      layer,
      x: fine(block.left),
      y: fine(block.firstBaseline + index * block.lineHeight),
      text,
      fontSize: block.fontSize,
      strokeWidth: layer === "halo" ? block.fontSize / 4 : 0,
    })),
  );

/** A hundredth of a pixel is finer than anything shown. */
export const fine = (value: number): number => Math.round(value * 100) / 100;
export const spell = ({ x, y }: Pixel): string => `${fine(x)} ${fine(y)}`;
