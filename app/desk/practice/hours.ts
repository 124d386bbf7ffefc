import { PROMISED, type OpenSpan, type Promised, type WorkingWeek } from "@/lib/domain/time/working-week";
import { OpenSpansSchema, WorkingWeekSchema } from "@/lib/domain/time/working-week.schema";

export const DAYS = ["1", "2", "3", "4", "5", "6", "7"] as const;

/** "09:00-12:30, 13:30-17:00" for each day; an empty day is closed. Null when a span cannot be read or spans overlap. */
export function weekOf(fields: Readonly<Record<string, string>>): WorkingWeek | null {
  const days = DAYS.flatMap((day) => {
    const typed = (fields[`day-${day}`] ?? "").trim();
    return typed === "" ? [] : [[day, typedSpans(typed)]];
  });
  const parsed = WorkingWeekSchema.safeParse(Object.fromEntries(days));
  return parsed.success ? parsed.data : null;
}

/** The spans of one day; null when there are none, one cannot be read, or they overlap. */
export function spansOf(typed: string): readonly OpenSpan[] | null {
  const parsed = OpenSpansSchema.safeParse(typedSpans(typed));
  return parsed.success && parsed.data.length > 0 ? parsed.data : null;
}

const typedSpans = (typed: string): readonly (readonly string[])[] => typed.split(",").map((span) => span.trim().split(/\s*[-–]\s*/).map(padded));

/** "9:00" is read as "09:00". */
const padded = (time: string): string => (/^\d:\d\d$/.test(time) ? `0${time}` : time);

export const dayText = (week: WorkingWeek | null, day: (typeof DAYS)[number]): string =>
  spansText(week?.[day] ?? []);

export const spansText = (spans: readonly OpenSpan[]): string => spans.map(([from, to]) => `${from}-${to}`).join(", ");

/** The form's field of each kind's promise. */
export const PROMISE_FIELDS: Readonly<Record<Promised, string>> = { "photo-set": "photoHours", question: "questionHours", symptom: "symptomHours" };

/** Each kind's promise as whole minutes; null unless all of them are positive times. */
export function promisesOf(fields: Readonly<Record<string, string>>): Readonly<Record<Promised, number>> | null {
  const minutes = PROMISED.map((kind) => promiseMinutesOf(fields[PROMISE_FIELDS[kind]] ?? ""));
  const [photoSet, question, symptom] = minutes;
  return photoSet && question && symptom ? { "photo-set": photoSet, question, symptom } : null;
}

/** A promise as it is typed: hours with at most two decimals. */
export const promiseText = (minutes: number): string => String(Math.round(minutes / 0.6) / 100);

/** Working hours, with a half written 1.5 or 1,5, as whole minutes; null when it is no positive time. */
export function promiseMinutesOf(typed: string): number | null {
  const plain = typed.trim().replace(",", ".");
  const minutes = /^\d{1,3}(\.\d{1,2})?$/.test(plain) ? Math.round(Number(plain) * 60) : 0;
  return minutes > 0 ? minutes : null;
}
