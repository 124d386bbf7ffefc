import type { ReactNode } from "react";
import styles from "@/app/ui/ruled.module.css";

export function RuledList({ label, children }: { readonly label?: string; readonly children: ReactNode }) {
  return <ul className={styles.list} {...(label ? { "aria-label": label } : {})}>{children}</ul>;
}

export function RuledRow({ children }: { readonly children: ReactNode }) {
  return <li className={styles.row}>{children}</li>;
}

export function DefinitionRows({ rows }: { readonly rows: readonly { readonly term: string; readonly value: ReactNode }[] }) {
  return (
    <dl className={`${styles.list} ${styles.pairs}`}>
      {rows.map((row) => (
        <div key={row.term} className={styles.pair}>
          <dt className={styles.term}>{row.term}</dt>
          <dd>{row.value}</dd>
        </div>
      ))}
    </dl>
  );
}
