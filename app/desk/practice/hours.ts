import { type WorkingWeek } from "@/lib/domain/time/working-week";
import { WorkingWeekSchema } from "@/lib/domain/time/working-week.schema";

export const DAYS = ["1", "2", "3", "4", "5", "6", "7"] as const;

/** "09:00-12:30, 13:30-17:00" for each day; an empty day is closed. Null when a span cannot be read or spans overlap. */
export function weekOf(fields: Readonly<Record<string, string>>): WorkingWeek | null {
  const days = DAYS.flatMap((day) => {
    const typed = (fields[`day-${day}`] ?? "").trim();
    return typed === "" ? [] : [[day, typed.split(",").map((span) => span.trim().split(/\s*[-–]\s*/).map(padded))]];
  });
  const parsed = WorkingWeekSchema.safeParse(Object.fromEntries(days));
  return parsed.success ? parsed.data : null;
}

/** "9:00" is read as "09:00". */
const padded = (time: string): string => (/^\d:\d\d$/.test(time) ? `0${time}` : time);

export const dayText = (week: WorkingWeek | null, day: (typeof DAYS)[number]): string =>
  (week?.[day] ?? []).map(([from, to]) => `${from}-${to}`).join(", ");

/** Working hours, with a half written 1.5 or 1,5, as whole minutes; null when it is no positive time. */
export function promiseMinutesOf(typed: string): number | null {
  const plain = typed.trim().replace(",", ".");
  const minutes = /^\d{1,3}(\.\d{1,2})?$/.test(plain) ? Math.round(Number(plain) * 60) : 0;
  return minutes > 0 ? minutes : null;
}
