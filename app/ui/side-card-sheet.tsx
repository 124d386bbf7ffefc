import type { ReactNode } from "react";
import { PrintButton } from "@/app/ui/print-button";
import { faceWords, SideCardFace } from "@/app/ui/side-card-face";
import styles from "@/app/ui/side-card-face.module.css";

/** A card with how to use it round it; on paper the card alone. `children` stand above it, `after` below. */
export function SideCardSheet({ number, say, printWord, children, after }: {
  /** Null while no card was made. */
  readonly number: string | null;
  readonly say: (key: string, values?: Readonly<Record<string, string>>) => string;
  readonly printWord: string;
  readonly children: ReactNode;
  readonly after?: ReactNode;
}) {
  return (
    <div className={styles.sheet}>
      {children}
      {number === null ? null : (
        <>
          <div><PrintButton>{printWord}</PrintButton></div>
          <noscript><p>{say("noScript")}</p></noscript>
          <SideCardFace number={number} words={faceWords(number, say)} />
        </>
      )}
      {after ? <div>{after}</div> : null}
    </div>
  );
}
