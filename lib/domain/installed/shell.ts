import { isLocale, type Locale } from "@/lib/domain/words/reader";

/** The page that stands without signal. Public, the same for everybody: what it shows is kept on the phone. */
export const SHELL_PATH = "/kept";

/** What a page tells the worker: to take over, when somebody pressed "Reload"; and which language it is in. */
export type Told = { readonly renew: true } | { readonly language: Locale };

/** The same page in another language; the phone keeps each. */
export const shellIn = (language: Locale, search: string): string => {
  const asked = new URLSearchParams(search);
  asked.set("in", language);
  return `${SHELL_PATH}?${asked}`;
};

/** Which language the shell was asked for in; null where its address does not say. */
export function languageAsked(search: string): Locale | null {
  const asked = new URLSearchParams(search).get("in");
  return isLocale(asked) ? asked : null;
}

/** The built files a page names, in its markup and in the data it starts from. */
export function assetsIn(html: string): readonly string[] {
  const found = html.match(/\/_next\/static\/[^"'\\\s<>)?]+/g) ?? [];
  return [...new Set(found)];
}

/** Where a page that could not be reached leads to, with the way back. */
export function shellAddress(asked: URL): string {
  const to = new URL(SHELL_PATH, asked);
  to.searchParams.set("from", `${asked.pathname}${asked.search}`);
  return to.href;
}

/** The way back, from the address of the shell; only a page of the family's, or the family's first. */
export function wayBack(search: string): string {
  const from = new URLSearchParams(search).get("from") ?? "";
  return /^\/family(?:[/?][\w\-./?=&%]*)?$/.test(from) && !from.includes("//") ? from : "/family";
}
