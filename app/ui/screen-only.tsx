import type { ReactNode } from "react";
import styles from "@/app/ui/screen-only.module.css";

/** What is not for paper: offers, and what only a screen can do. */
export function ScreenOnly({ children }: { readonly children: ReactNode }) {
  return <div className={styles.screenOnly}>{children}</div>;
}
