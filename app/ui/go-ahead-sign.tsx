import type { ReactNode } from "react";
import styles from "@/app/ui/go-ahead-sign.module.css";
import type { GoAheadState } from "@/lib/domain/setup/vocabulary";

/** What may be done now: a shape of its own for each state, and always the word. */
export function GoAheadSign({ state, word, size = "full", children }: {
  readonly state: GoAheadState;
  readonly word: string;
  readonly size?: "full" | "compact";
  readonly children?: ReactNode;
}) {
  return (
    <div className={styles.sign} data-state={state} data-size={size}>
      <svg className={styles.shape} viewBox="0 0 40 40" aria-hidden="true" focusable="false">{SHAPES[state]}</svg>
      <div className={styles.words}>
        <p className={styles.word}>{word}</p>
        {children}
      </div>
    </div>
  );
}

const SHAPES: Readonly<Record<GoAheadState, ReactNode>> = {
  stop: (
    <>
      <path className={styles.solid} d="M12 2h16l10 10v16L28 38H12L2 28V12z" />
      <path className={styles.cut} d="M12 20h16" />
    </>
  ),
  "not-yet": (
    <>
      <rect className={styles.outline} x="4" y="4" width="32" height="32" />
      <path className={styles.line} d="M6 34L34 6" />
    </>
  ),
  "photo-first": (
    <>
      <path className={styles.outline} d="M4 12h8l3-5h10l3 5h8v22H4z" />
      <circle className={styles.outline} cx="20" cy="22" r="6.500" />
    </>
  ),
  "go-and-fix": (
    <>
      <path className={styles.line} d="M4 30h32M4 20h20M4 10h12" />
      <path className={styles.line} d="M28 24V8m-6 6l6-6 6 6" />
    </>
  ),
  go: <path className={styles.tick} d="M5 21l10 11L35 8" />,
};
