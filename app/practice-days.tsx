import { MonthTable } from "@/app/ui/month-table";
import { Stack } from "@/app/ui/stack";
import { localDate } from "@/lib/domain/time/local";
import { monthGrid, monthsBetween } from "@/lib/domain/time/month-grid";
import type { Reader } from "@/lib/domain/words/reader";
import { say } from "@/lib/messages/say";

const WEEKDAYS = ["1", "2", "3", "4", "5", "6", "7"] as const;

/** The days one exercise was done, this month and the one before open, older ones folded. It counts nothing and praises nothing. */
export function PracticeDays({ days, exercise, zone, now, reader, most }: {
  /** Oldest first, `YYYY-MM-DD`. */
  readonly days: readonly string[];
  readonly exercise: string;
  readonly zone: string;
  readonly now: number;
  readonly reader: Reader;
  /** Months, the newest; else all since the first. */
  readonly most?: number;
}) {
  const t = say("days", reader);
  const [first] = days;
  if (first === undefined) return <p>{t("none")}</p>;
  const done = new Set(days);
  const months = monthsBetween(first, localDate(now, zone)).slice(0, most).map((month) => (
    <MonthTable key={month} grid={monthGrid(month)} done={done} words={{
      caption: t("caption", { exercise, month: `${t(`monthIs.${month.slice(5)}`)} ${month.slice(0, 4)}` }),
      weekdays: WEEKDAYS.map((day) => t(`dayIs.${day}`)), done: t("done"),
    }} />
  ));
  return (
    <Stack>
      <p>{t("why")}</p>
      {months.slice(0, 2)}
      {months.length > 2 ? <details><summary>{t("earlier")}</summary><Stack>{months.slice(2)}</Stack></details> : null}
    </Stack>
  );
}
