import styles from "@/app/ui/month-table.module.css";
import type { MonthGrid } from "@/lib/domain/time/month-grid";

export type MonthWords = { readonly caption: string; readonly weekdays: readonly string[]; readonly done: string };

/** One month as a real table. A day that was done carries a shape and a word beside its number; colour says nothing. */
export function MonthTable({ grid, done, words }: { readonly grid: MonthGrid; readonly done: ReadonlySet<string>; readonly words: MonthWords }) {
  return (
    <table className={styles.month}>
      <caption>{words.caption}</caption>
      <thead>
        <tr>{words.weekdays.map((day) => <th key={day} scope="col">{day}</th>)}</tr>
      </thead>
      <tbody>
        {grid.weeks.map((week) => (
          <tr key={week.find((day) => day !== null)}>
            {week.map((day, at) => (
              <td key={day ?? `other ${at}`} data-done={day !== null && done.has(day) ? "" : undefined}>
                {day === null ? null : <span>{Number(day.slice(8))}</span>}
                {day !== null && done.has(day) ? <><Tick />{" "}<span className={styles.word}>{words.done}</span></> : null}
              </td>
            ))}
          </tr>
        ))}
      </tbody>
    </table>
  );
}

const Tick = () => (
  <svg className={styles.tick} viewBox="0 0 16 16" aria-hidden="true" focusable="false"><path d="M3 8.5 6.5 12 13 4.5" /></svg>
);
