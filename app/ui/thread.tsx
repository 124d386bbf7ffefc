import type { ReactNode } from "react";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import { Stack } from "@/app/ui/stack";
import styles from "@/app/ui/thread.module.css";

export type ThreadTurn = { readonly key: string; readonly asked: string; readonly words: string; readonly replied: string; readonly reply: string | null };

/** Questions and replies in order; `replied` says who replied and when, or what to expect. */
export function Thread({ label, turns }: { readonly label: string; readonly turns: readonly ThreadTurn[] }): ReactNode {
  return (
    <RuledList label={label}>
      {turns.map((turn) => (
        <RuledRow key={turn.key}>
          <Stack gap="small">
            <p className={styles.who}>{turn.asked}</p>
            <p className={styles.words}>{turn.words}</p>
            <p className={styles.who}>{turn.replied}</p>
            {turn.reply === null ? null : <p className={styles.reply}>{turn.reply}</p>}
          </Stack>
        </RuledRow>
      ))}
    </RuledList>
  );
}
