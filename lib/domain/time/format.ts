import { localOf, wallOf, weekdayOf } from "@/lib/domain/time/local";
import type { LocalDate } from "@/lib/domain/time/working-week";

// Written here and not by Intl, whose zone data belongs to the machine and may be a year old.
const DAYS = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"] as const;
const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"] as const;

/** "Tue 3 Mar, 16:20": for moments near now, where the year is plain. */
export function formatDateTime(instant: number, zone: string): string {
  const local = localOf(instant, zone);
  return `${dayName(local.weekday)} ${local.day} ${monthName(local.month)}, ${clock(local)}`;
}

/** "Tue 3 Mar 2026": for anything reread later. */
export function formatDate(instant: number, zone: string): string {
  const { weekday, day, month, year } = localOf(instant, zone);
  return `${dayName(weekday)} ${day} ${monthName(month)} ${year}`;
}

/** "Mon 09:00": within the week to come. */
export function formatTime(instant: number, zone: string): string {
  const local = localOf(instant, zone);
  return `${dayName(local.weekday)} ${clock(local)}`;
}

/** "Tue 3 Mar 2026" for a date that has no instant, such as a reassessment date. Throws on no date. */
export function formatLocalDate(date: LocalDate): string {
  const [year, month, day] = [date.slice(0, 4), Number(date.slice(5, 7)), Number(date.slice(8, 10))];
  return `${dayName(weekdayOf(wallOf(date)))} ${day} ${monthName(month)} ${year}`;
}

const dayName = (weekday: number): string => DAYS[weekday - 1] ?? "";
const monthName = (month: number): string => MONTHS[month - 1] ?? "";
const clock = ({ hour, minute }: { hour: number; minute: number }): string =>
  `${String(hour).padStart(2, "0")}:${String(minute).padStart(2, "0")}`;
