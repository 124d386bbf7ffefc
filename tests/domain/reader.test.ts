import { expect, test } from "vitest";
import { formatDate, formatDateTime, formatLocalDate, formatTime } from "@/lib/domain/time/format";
import { directionOf, localeAccepted, LOCALES } from "@/lib/domain/words/reader";

test("a browser's languages are taken by weight, by their first part, and English stands in", () => {
  expect(localeAccepted("es-MX,es;q=0.9,en;q=0.8")).toBe("es");
  expect(localeAccepted("en;q=0.5, es ; q=0.6")).toBe("es");
  expect(localeAccepted("en,es")).toBe("en");
  expect(localeAccepted("fr-FR,fr;q=0.9")).toBe("en");
  expect(localeAccepted("fr, es;q=0.1")).toBe("es");
  expect(localeAccepted("es;q=0, en;q=0.1")).toBe("en");
  for (const odd of ["", "*", ";;,,;q=", "es;q=one", "\u0000", "estonian", "constructor"]) expect(localeAccepted(odd)).toBe("en");
});

test("the direction follows the language: as the platform's own locale data says", () => {
  // `textInfo` of ECMA-402 Intl.Locale, from CLDR; some engines still spell it as a getter.
  const cldr = (language: string) => {
    const locale = new Intl.Locale(language) as unknown as { getTextInfo?: () => { direction: string }; textInfo?: { direction: string } };
    return (locale.getTextInfo?.() ?? locale.textInfo)?.direction;
  };
  for (const language of ["en", "es", "es-MX", "de", "zh", "ja", "ru", "hi", "ar", "ar-EG", "he", "fa", "ur", "yi", "ps", "sd", "ug", "ckb"]) {
    expect(directionOf(language), language).toBe(cldr(language));
  }
});

test("days and months are named as in each language's locale data", () => {
  // CLDR through Intl, in UTC, where no zone data is needed.
  const long = (locale: string, at: number) => new Intl.DateTimeFormat(locale, { timeZone: "UTC", weekday: "long", day: "numeric", month: "long", year: "numeric" }).format(at);
  for (let day = 0; day < 366; day += 1) {
    const at = Date.UTC(2027, 0, 1 + day, 12);
    expect(formatDate(at, "UTC", "es")).toBe(long("es", at).replace(", ", " "));
    const [weekday, date, month, year] = formatDate(at, "UTC", "en").split(" ");
    expect(long("en-GB", at)).toMatch(new RegExp(`^${weekday}\\w*,? ${date} ${month}\\w* ${year}$`));
  }
});

test("the same moment in both languages, on the reader's own clock", () => {
  const at = Date.UTC(2026, 2, 3, 23, 20);
  expect(formatDateTime(at, "Europe/Madrid", "es")).toBe("miércoles 4 de marzo, 00:20");
  expect(formatDateTime(at, "Europe/London", "en")).toBe("Tue 3 Mar, 23:20");
  expect(formatTime(at, "Europe/Madrid", "es")).toBe("miércoles 00:20");
  expect(LOCALES.map((locale) => formatLocalDate("2026-03-03", locale))).toEqual(["Tue 3 Mar 2026", "martes 3 de marzo de 2026"]);
});
