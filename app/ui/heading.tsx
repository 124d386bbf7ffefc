import type { ReactNode } from "react";
import styles from "@/app/ui/heading.module.css";

export function Heading({ level, lead, id, children }: {
  readonly level: 1 | 2 | 3;
  readonly lead?: ReactNode;
  readonly id?: string;
  readonly children: ReactNode;
}) {
  const Tag = `h${level}` as const;
  return (
    <div className={styles.heading} data-level={level}>
      <Tag className={styles.text} {...(id ? { id } : {})}>{children}</Tag>
      {lead ? <p className={styles.lead}>{lead}</p> : null}
    </div>
  );
}
