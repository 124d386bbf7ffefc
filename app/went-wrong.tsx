import styles from "@/app/plain-page.module.css";

/**
 * What people see when a page fails. The words stand here and not in the catalogue: this is shown when
 * the server could not answer, so it must need nothing from it.
 */
export function WentWrong({ reference, retry }: { readonly reference?: string | undefined; readonly retry: () => void }) {
  return (
    <main className={styles.page}>
      <h1>Something went wrong</h1>
      <p>This page could not be shown. What you sent before is kept. If your child was told to stop, that still stands.</p>
      <p>
        <button type="button" className={styles.again} onClick={() => retry()}>Try again</button>
      </p>
      {reference ? <p className={styles.reference}>If it keeps happening, tell your practice this reference: {reference}</p> : null}
    </main>
  );
}
