import type { ReactNode } from "react";
import styles from "@/app/ui/small.module.css";

/** A photo pinned to the chart. A plain image: private pictures never pass an optimiser. */
export function PhotoFrame({ src, alt, width, height, caption, children }: {
  readonly src: string;
  readonly alt: string;
  readonly width: number;
  readonly height: number;
  readonly caption?: ReactNode;
  readonly children?: ReactNode;
}) {
  return (
    <figure className={styles.photo}>
      <span className={styles.pin} aria-hidden="true" />
      <div className={styles.stage}>
        <img className={styles.image} src={src} alt={alt} width={width} height={height} decoding="async" />
        {children}
      </div>
      {caption ? <figcaption className={styles.note}>{caption}</figcaption> : null}
    </figure>
  );
}
