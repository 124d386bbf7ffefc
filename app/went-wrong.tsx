import styles from "@/app/plain-page.module.css";
import { isOldCode } from "@/app/ui/old-code";
import { wordsAtHand } from "@/app/ui/words-at-hand";

/** What people see when a page fails, or when a part of it is gone because the app was renewed meanwhile. */
export function WentWrong({ error, retry }: { readonly error: Error & { digest?: string }; readonly retry: () => void }) {
  const words = wordsAtHand();
  const isOld = isOldCode(error);
  return (
    <main className={styles.page}>
      <h1>{isOld ? words.oldTitle : words.wrongTitle}</h1>
      <p>{isOld ? words.oldPage : words.wrongPage}</p>
      <p>
        <button type="button" className={styles.again} onClick={() => (isOld ? window.location.reload() : retry())}>{isOld ? words.reload : words.again}</button>
      </p>
      {error.digest ? <p className={styles.reference}>{words.reference} {error.digest}</p> : null}
    </main>
  );
}
