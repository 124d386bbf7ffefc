import { addDays, localDate, localOf, wallOf, weekdayOf } from "@/lib/domain/time/local";
import type { LocalDate } from "@/lib/domain/time/working-week";
import type { Locale } from "@/lib/domain/words/reader";

type Day = { readonly weekday: number; readonly day: number; readonly month: number };
type Style = { readonly days: readonly string[]; readonly months: readonly string[]; readonly dayAndMonth: string; readonly year: string };

// Written here and not by Intl, whose zone data belongs to the machine and may be a year old. Spanish in full, since
// "mar" is short for Tuesday and for March.
const STYLES: Readonly<Record<Locale, Style>> = {
  en: {
    days: ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"],
    months: ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"],
    dayAndMonth: " ", year: " ",
  },
  es: {
    days: ["lunes", "martes", "miércoles", "jueves", "viernes", "sábado", "domingo"],
    months: ["enero", "febrero", "marzo", "abril", "mayo", "junio", "julio", "agosto", "septiembre", "octubre", "noviembre", "diciembre"],
    dayAndMonth: " de ", year: " de ",
  },
};

/** "Tue 3 Mar, 16:20": for moments near now, where the year is plain. */
export function formatDateTime(instant: number, zone: string, locale: Locale = "en"): string {
  const local = localOf(instant, zone);
  return `${dayOf(local, locale)}, ${clock(local)}`;
}

/** "Tue 3 Mar 2026": for anything reread later. */
export function formatDate(instant: number, zone: string, locale: Locale = "en"): string {
  const local = localOf(instant, zone);
  return `${dayOf(local, locale)}${STYLES[locale].year}${local.year}`;
}

/** "Mon 09:00": within the week to come. */
export function formatTime(instant: number, zone: string, locale: Locale = "en"): string {
  const local = localOf(instant, zone);
  return `${STYLES[locale].days[local.weekday - 1] ?? ""} ${clock(local)}`;
}

/** "Mon 09:00" of today and the six days to come, which one weekday names; "Mon 9 Mar, 09:00" of any other. */
export function formatSoon(instant: number, now: number, zone: string, locale: Locale = "en"): string {
  const [day, today] = [localDate(instant, zone), localDate(now, zone)];
  return day >= today && day < addDays(today, 7) ? formatTime(instant, zone, locale) : formatDateTime(instant, zone, locale);
}

/** "Tue 3 Mar 2026" for a date that has no instant, such as a reassessment date. Throws on no date. */
export function formatLocalDate(date: LocalDate, locale: Locale = "en"): string {
  const [year, month, day] = [date.slice(0, 4), Number(date.slice(5, 7)), Number(date.slice(8, 10))];
  return `${dayOf({ weekday: weekdayOf(wallOf(date)), day, month }, locale)}${STYLES[locale].year}${year}`;
}

function dayOf({ weekday, day, month }: Day, locale: Locale): string {
  const { days, months, dayAndMonth } = STYLES[locale];
  return `${days[weekday - 1] ?? ""} ${day}${dayAndMonth}${months[month - 1] ?? ""}`;
}

const clock = ({ hour, minute }: { hour: number; minute: number }): string =>
  `${String(hour).padStart(2, "0")}:${String(minute).padStart(2, "0")}`;
