/** Languages with a catalogue of their own. The desk is in English alone. */
export const LOCALES = ["en", "es"] as const;
export type Locale = (typeof LOCALES)[number];
export const isLocale = (text: unknown): text is Locale => (LOCALES as readonly unknown[]).includes(text);

/** Each language in its own words, so that who reads no other finds it. */
export const LANGUAGE_NAMES: Readonly<Record<Locale, string>> = { en: "English", es: "Español" };

/** Who the words are for: `self` does the exercises, `carer` looks after somebody who does. */
export type Reader = { readonly locale: Locale; readonly voice: "carer" | "self" };

export const DESK: Reader = { locale: "en", voice: "carer" };

/** Languages written from the right, by their code (CLDR: the likely script's direction); none has a catalogue yet. */
const FROM_THE_RIGHT = new Set(["ar", "ckb", "dv", "fa", "he", "ps", "sd", "ug", "ur", "yi"]);
export const directionOf = (language: string): "ltr" | "rtl" => (FROM_THE_RIGHT.has(language.split("-")[0] ?? "") ? "rtl" : "ltr");

/** The best of our languages for an `Accept-Language` header (RFC 9110, 12.5.4; prefixes as in RFC 4647, 3.4); English where it names none. */
export function localeAccepted(header: string): Locale {
  const asked = header.split(",").flatMap((part) => {
    const [tag = "", ...parameters] = part.trim().toLowerCase().split(/\s*;\s*/);
    const weight = parameters.find((each) => each.startsWith("q="))?.slice(2) ?? "1";
    const locale = tag.split("-")[0];
    return isLocale(locale) && Number(weight) > 0 ? [{ locale, weight: Number(weight) }] : [];
  });
  return asked.reduce<(typeof asked)[number] | null>((best, each) => (best === null || each.weight > best.weight ? each : best), null)?.locale ?? "en";
}
