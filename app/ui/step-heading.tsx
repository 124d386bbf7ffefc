import type { ReactNode } from "react";
import { Heading } from "@/app/ui/heading";
import styles from "@/app/ui/small.module.css";

/** `words` is the ready sentence, such as "Step 2 of 5". */
export function StepHeading({ words, id, children }: { readonly words: string; readonly id?: string; readonly children: ReactNode }) {
  return (
    <div>
      <p className={styles.step}>{words}</p>
      <Heading level={2} {...(id ? { id } : {})}>{children}</Heading>
    </div>
  );
}
