import styles from "@/app/desk/children/[childId]/sets/[photoSetId]/two-versions.module.css";
import type { DraftRow } from "@/app/desk/children/[childId]/sets/[photoSetId]/draft-rows";
import { Button } from "@/app/ui/button";

/** Two versions beside each other, only what differs. With `choose`, each part can be taken from either. */
export function TwoVersions({ rows, words, choose }: {
  readonly rows: readonly DraftRow[];
  readonly words: { readonly caption: string; readonly field: string; readonly one: string; readonly two: string; readonly same: string };
  readonly choose?: { readonly word: string; readonly fromTwo: ReadonlySet<string>; readonly take: (name: string, isTwo: boolean) => void };
}) {
  if (rows.length === 0) return <p>{words.same}</p>;
  const side = (row: DraftRow, isTwo: boolean) => (
    <div className={styles.version} data-taken={choose && choose.fromTwo.has(row.name) === isTwo ? "" : undefined}>
      <p className={styles.whose} aria-hidden="true">{isTwo ? words.two : words.one}</p>
      <p className={styles.said}>{isTwo ? row.two : row.one}</p>
      {choose ? (
        <Button kind="quiet" aria-pressed={choose.fromTwo.has(row.name) === isTwo} aria-label={`${choose.word}: ${row.label}, ${isTwo ? words.two : words.one}`}
          onClick={() => choose.take(row.name, isTwo)}>{choose.word}</Button>
      ) : null}
    </div>
  );
  return (
    <table className={styles.versions}>
      <caption>{words.caption}</caption>
      <thead><tr><th scope="col">{words.field}</th><th scope="col">{words.one}</th><th scope="col">{words.two}</th></tr></thead>
      <tbody>
        {rows.map((row) => (
          <tr key={row.name}>
            <th scope="row">{row.label}</th>
            <td>{side(row, false)}</td>
            <td>{side(row, true)}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
