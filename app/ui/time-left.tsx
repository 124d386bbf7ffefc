import styles from "@/app/ui/small.module.css";

/** Working time left of the promise, as words and a line; `share` is what is left, 0 to 1. */
export function TimeLeft({ word, share, isOverdue }: { readonly word: string; readonly share: number; readonly isOverdue: boolean }) {
  const left = Math.max(0, Math.min(1, share));
  return (
    <span className={styles.left} data-overdue={isOverdue ? "" : undefined}>
      <svg className={styles.track} viewBox="0 0 56 8" aria-hidden="true" focusable="false">
        <rect className={styles.trackLine} x="0.500" y="0.500" width="55" height="7" />
        <rect className={styles.trackFill} x="0" y="0" width={56 * left} height="8" />
      </svg>
      {word}
    </span>
  );
}
