import type { ReactNode } from "react";
import styles from "@/app/ui/unseen.module.css";

/** Words for those who hear the page, where others see the same in another way; `whenWide`: seen on a narrow screen. */
export function Unseen({ whenWide = false, children }: { readonly whenWide?: boolean; readonly children: ReactNode }) {
  return <span className={whenWide ? styles.unseenWhenWide : styles.unseen}>{children}</span>;
}
