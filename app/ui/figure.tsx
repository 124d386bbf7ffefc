import type { ReactNode } from "react";
import styles from "@/app/ui/small.module.css";

/** One figure with what it rests on: every figure says its n. */
export function Figure({ label, value, note }: { readonly label: string; readonly value: ReactNode; readonly note: ReactNode }) {
  return (
    <div className={styles.figure}>
      <p>{label}</p>
      <p className={styles.value}>{value}</p>
      <p className={styles.note}>{note}</p>
    </div>
  );
}
