import type { ReactNode } from "react";
import styles from "@/app/ui/stack.module.css";

export function Stack({ gap = "medium", children }: { readonly gap?: "small" | "medium" | "large"; readonly children: ReactNode }) {
  return <div className={styles.stack} data-gap={gap}>{children}</div>;
}

export function Row({ children }: { readonly children: ReactNode }) {
  return <div className={styles.row}>{children}</div>;
}

/** One column on a phone, two where there is room. */
export function Columns({ children }: { readonly children: ReactNode }) {
  return <div className={styles.columns}>{children}</div>;
}
