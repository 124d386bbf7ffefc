import type { ReactNode } from "react";
import styles from "@/app/ui/notice.module.css";

/** `stop` is kept for what stops a child; `problem` says what happened, what is safe, what to do now. */
export function Notice({ kind, title, children }: {
  readonly kind: "info" | "caution" | "stop" | "problem" | "done";
  readonly title?: ReactNode;
  readonly children: ReactNode;
}) {
  const role = kind === "problem" || kind === "stop" ? "alert" : kind === "done" ? "status" : undefined;
  return (
    <div className={styles.notice} data-kind={kind} {...(role ? { role } : {})}>
      {title ? <p className={styles.title}>{title}</p> : null}
      <div className={styles.words}>{children}</div>
    </div>
  );
}

/** The standing caution, where decisions are made. */
export function Caution({ children }: { readonly children: ReactNode }) {
  return <p className={styles.caution}>{children}</p>;
}
