import Link from "next/link";
import { VerdictMark, VerdictShape } from "@/app/ui/verdict-mark";
import styles from "@/app/ui/ledger-chart.module.css";
import { Unseen } from "@/app/ui/unseen";
import { VERDICTS, type Verdict } from "@/lib/domain/setup/vocabulary";

/**
 * Items down, dates across, a shape and a word in every cell: a real table, so it reads without eyes. It scrolls in
 * its own box, which takes the keyboard's focus; the legend under it says each shape's word. `cells` go by `columns`;
 * those of `past` stand in brackets, with `pastWord` beside the shape's own word.
 */
export function LedgerChart({ caption, itemWord, stateWord, columns, rows, verdictWords, emptyWord, pastWord }: {
  readonly caption: string;
  readonly itemWord: string;
  readonly stateWord: string;
  readonly columns: readonly { readonly key: string; readonly label: string; readonly href?: string | undefined }[];
  readonly rows: readonly { readonly key: string; readonly label: string; readonly state: string; readonly cells: readonly (Verdict | null)[]; readonly past?: readonly boolean[] }[];
  readonly verdictWords: Readonly<Record<Verdict, string>>;
  readonly emptyWord: string;
  readonly pastWord?: string | undefined;
}) {
  const hasPast = rows.some((row) => row.past?.includes(true));
  return (
    <div>
      <section className={styles.box} aria-label={caption} tabIndex={0}>
        <table className={styles.table}>
          <caption className={styles.caption}><span>{caption}</span></caption>
          <thead>
            <tr>
              <th scope="col" className={styles.corner}>{itemWord}</th>
              {columns.map((column) => <th key={column.key} scope="col" className={styles.date}>{column.href ? <Link href={column.href} prefetch={false}>{column.label}</Link> : column.label}</th>)}
              <th scope="col">{stateWord}</th>
            </tr>
          </thead>
          <tbody>
            {rows.map((row) => (
              <tr key={row.key}>
                <th scope="row" className={styles.item}>{row.label}</th>
                {columns.map((column, at) => {
                  const verdict = row.cells[at] ?? null;
                  const isPast = verdict !== null && row.past?.[at] === true;
                  return (
                    <td key={column.key} className={styles.cell} data-past={isPast ? "" : undefined}>
                      {verdict ? <VerdictShape verdict={verdict} /> : null}
                      <Unseen>{verdict ? verdictWords[verdict] : emptyWord}{isPast ? `, ${pastWord}` : ""}</Unseen>
                    </td>
                  );
                })}
                <td className={styles.state}>{row.state}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </section>
      <div className={styles.legend} aria-hidden="true">
        {VERDICTS.map((verdict) => <VerdictMark key={verdict} verdict={verdict} word={verdictWords[verdict]} />)}
        {hasPast && pastWord ? <span>( ) {pastWord}</span> : null}
      </div>
    </div>
  );
}
