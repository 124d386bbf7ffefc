import { useId } from "react";
import styles from "@/app/ui/small.module.css";

/** Real progress: `value` is the share done, 0 to 1. */
export function Progress({ label, value }: { readonly label: string; readonly value: number }) {
  const id = useId();
  return (
    <div className={styles.progress}>
      <label htmlFor={id}>{label}</label>
      <progress id={id} className={styles.bar} max={1} value={value} />
    </div>
  );
}
