import styles from "@/app/ui/side-word.module.css";

/** LEFT or RIGHT in capitals, the child's own. The word comes from the catalogue; never an arrow. */
export function SideWord({ children }: { readonly children: string }) {
  return <strong className={styles.side}>{children}</strong>;
}
