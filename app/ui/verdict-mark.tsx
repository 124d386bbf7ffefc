import type { ReactNode } from "react";
import styles from "@/app/ui/verdict-mark.module.css";
import type { Verdict } from "@/lib/domain/setup/vocabulary";

/** A verdict as shape and word. */
export function VerdictMark({ verdict, word }: { readonly verdict: Verdict; readonly word: string }) {
  return (
    <span className={styles.mark}>
      <VerdictShape verdict={verdict} />
      <span>{word}</span>
    </span>
  );
}

/** The shape alone; whoever uses it says the word nearby. */
export function VerdictShape({ verdict }: { readonly verdict: Verdict }) {
  return <svg className={styles.shape} viewBox="0 0 20 20" aria-hidden="true" focusable="false">{SHAPES[verdict]}</svg>;
}

const SHAPES: Readonly<Record<Verdict, ReactNode>> = {
  "in-place": <path className={styles.line} d="M3 10.500l4.500 5L17 5" />,
  fix: <path className={styles.solid} d="M10 2l8.500 15.500h-17z" />,
  "not-visible": <circle className={styles.dots} cx="10" cy="10" r="7" />,
  "not-part": <path className={styles.line} d="M4 10h12" />,
};
