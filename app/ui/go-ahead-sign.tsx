import type { ReactNode } from "react";
import styles from "@/app/ui/go-ahead-sign.module.css";
import { GO_AHEADS, type GoAheadState } from "@/lib/domain/setup/vocabulary";

/**
 * What may be done now: a shape of its own for each state, always the word, and its place on a measuring rule
 * that has "go" at the top and "stop" at the floor. The full sign has a frame of its own for each state too.
 */
export function GoAheadSign({ state, word, size = "full", children }: {
  readonly state: GoAheadState;
  readonly word: string;
  /** `compact` is the shape and the word alone, for rows. */
  readonly size?: "full" | "compact";
  /** The reason, the date and who decided. */
  readonly children?: ReactNode;
}) {
  return (
    <div className={styles.sign} data-state={state} data-size={size}>
      <svg className={styles.shape} viewBox="0 0 40 40" aria-hidden="true" focusable="false">{SHAPES[state]}</svg>
      <p className={styles.word}>{word}</p>
      {size === "full" ? <PlaceRule at={GO_AHEADS.indexOf(state)} /> : null}
      {children ? <div className={styles.reason}>{children}</div> : null}
    </div>
  );
}

function PlaceRule({ at }: { readonly at: number }) {
  return (
    <svg className={styles.rule} viewBox="0 0 14 48" aria-hidden="true" focusable="false">
      <path className={styles.scale} d={`M13 4V44${GO_AHEADS.map((_, notch) => `M8 ${4 + 10 * notch}H13`).join("")}`} />
      <path className={styles.place} d={`M1 ${4 + 10 * at}H13`} />
    </svg>
  );
}

const SHAPES: Readonly<Record<GoAheadState, ReactNode>> = {
  stop: (
    <>
      <path className={styles.stopShape} d="M12 2h16l10 10v16L28 38H12L2 28V12z" />
      <path className={styles.stopBar} d="M12 20h16" />
    </>
  ),
  "not-yet": (
    <>
      <rect className={styles.outline} x="4" y="4" width="32" height="32" />
      <path className={styles.line} d="M5 35L35 5" />
    </>
  ),
  "photo-first": (
    <>
      <path className={styles.outline} d="M4 12h8l3-5h10l3 5h8v22H4z" />
      <circle className={styles.outline} cx="20" cy="22" r="6.500" />
    </>
  ),
  // The tick of "go" and the triangle of the verdict `fix`.
  "go-and-fix": (
    <>
      <path className={styles.tick} d="M4 16l7 8L26 5" />
      <path className={styles.triangle} d="M29 19l9 17H20z" />
    </>
  ),
  go: <path className={styles.tick} d="M5 21l10 11L35 8" />,
};
