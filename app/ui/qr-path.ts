import { create } from "qrcode";

/** Dark modules as one path, a row's neighbours joined, so that no hairline shows between them on paper. */
export function qrPath(text: string, { side, left, top }: { readonly side: number; readonly left: number; readonly top: number }): string {
  const { data, size } = create(text, { errorCorrectionLevel: "Q" }).modules;
  const step = side / size;
  const at = (index: number, start: number) => (start + index * step).toFixed(3);
  let path = "";
  for (let row = 0; row < size; row += 1) {
    for (let column = 0; column < size; column += 1) {
      if (data[row * size + column] !== 1) continue;
      let run = 1;
      while (column + run < size && data[row * size + column + run] === 1) run += 1;
      path += `M${at(column, left)} ${at(row, top)}h${(run * step).toFixed(3)}v${step.toFixed(3)}h-${(run * step).toFixed(3)}z`;
      column += run;
    }
  }
  return path;
}
