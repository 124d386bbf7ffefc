import styles from "@/app/family/send/camera-guide.module.css";

/** How to hold the camera, drawn: from the side, and what it then sees. Neither drawing says left or right. */
export function CameraGuide({ words }: { readonly words: { readonly side: string; readonly frame: string } }) {
  return (
    <div className={styles.guide}>
      <figure>
        <svg viewBox="0 0 160 90" role="img" aria-label={words.side}>
          <path className={styles.ground} d="M4 78H156" />
          <path className={styles.aim} d="M40 55H104M40 55 104 42M40 55 104 68" />
          <path className={styles.camera} d="M34 40h6v30h-6z" />
          <path className={styles.camera} d="M28 78l9-8 9 8" />
          <ellipse className={styles.body} cx="122" cy="58" rx="16" ry="20" />
          <path className={styles.card} d="M146 58v20M146 78h6" />
          <circle className={styles.light} cx="20" cy="16" r="7" />
          <path className={styles.aim} d="M30 20l10 4M25 27l5 8" />
        </svg>
        <figcaption>{words.side}</figcaption>
      </figure>
      <figure>
        <svg viewBox="0 0 160 90" role="img" aria-label={words.frame}>
          <rect className={styles.frame} x="6" y="6" width="148" height="78" />
          <path className={styles.frame} d="M6 22V6h16M138 6h16v16M154 68v16h-16M22 84H6V68" />
          <path className={styles.ground} d="M10 72H150" />
          <circle className={styles.body} cx="34" cy="56" r="9" />
          <path className={styles.body} d="M46 50q24-8 46 0l36 8v8l-40 5H48q-8-10-2-21z" />
          <path className={styles.card} d="M136 50h10v22h-10zM139 54h4v4h-4z" />
        </svg>
        <figcaption>{words.frame}</figcaption>
      </figure>
    </div>
  );
}
