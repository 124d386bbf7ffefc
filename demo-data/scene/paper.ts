/** Cut paper: every piece a flat colour, a darker rim on the side away from the light, a soft lift. */
export type Paper = {
  readonly piece: (path: string, colour: string, depth?: number) => string;
  readonly shade: (path: string, inside: string, colour: string) => string;
};

/** `lightFrom` is -1 when the light comes from picture left, 1 from picture right. */
export function paper(lightFrom: number): Paper {
  let count = 0;
  const clip = (path: string) => {
    count += 1;
    return [`<clipPath id="c${count}"><path d="${path}"/></clipPath>`, `clip-path="url(#c${count})"`] as const;
  };
  return {
    piece: (path, colour, depth = 9) => {
      const [definition, use] = clip(path);
      const away = `translate(${(lightFrom * depth * 0.75).toFixed(1)} ${(-depth).toFixed(1)})`;
      return `${definition}${lift(`<path d="${path}"/>`)}<path d="${path}" fill="${darker(colour, 0.15)}"/><g ${use}><path d="${path}" fill="${colour}" transform="${away}"/></g>`;
    },
    shade: (path, inside, colour) => {
      const [definition, use] = clip(inside);
      return `${definition}<g ${use}><path d="${path}" fill="${colour}"/></g>`;
    },
  };
}

/** The narrow shadow a sheet of paper throws on the sheet below; three steps look soft and draw faster than a blur. */
export const lift = (shape: string): string =>
  [10, 6, 3].map((down) => `<g transform="translate(0 ${down})" fill="#261e34" opacity="0.07">${shape}</g>`).join("");

const channels = (colour: string) => [1, 3, 5].map((at) => Number.parseInt(colour.slice(at, at + 2), 16));

const mix = (colour: string, end: readonly number[], share: number) =>
  `#${channels(colour)
    .map((value, index) => Math.round(value + ((end[index] ?? 0) - value) * share).toString(16).padStart(2, "0"))
    .join("")}`;

/** Shadows lean to blue, light to warm: flat colours stay calm that way. */
export const darker = (colour: string, share: number): string => mix(colour, [38, 30, 52], share);
export const lighter = (colour: string, share: number): string => mix(colour, [255, 250, 238], share);
