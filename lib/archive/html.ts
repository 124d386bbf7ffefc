import "server-only";

/** Markup that is safe to put into a page: made by `html` alone. */
export type Html = { readonly markup: string };

const ESCAPES: Readonly<Record<string, string>> = { "&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#39;" };
const escaped = (text: string): string => text.replace(/[&<>"']/g, (sign) => ESCAPES[sign] ?? sign);

type Value = string | number | Html | null | readonly (Html | null)[];

/** What stands between the words is text unless it is markup itself; whatever anybody typed stays text. */
export function html(words: TemplateStringsArray, ...values: readonly Value[]): Html {
  const spelt = (value: Value | undefined): string => {
    if (value === undefined || value === null) return "";
    if (typeof value === "string" || typeof value === "number") return escaped(String(value));
    return "markup" in value ? value.markup : value.map((each) => each?.markup ?? "").join("\n");
  };
  return { markup: words.map((word, at) => `${word}${spelt(values[at])}`).join("") };
}
