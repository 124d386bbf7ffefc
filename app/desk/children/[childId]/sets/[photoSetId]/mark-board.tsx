"use client";

import styles from "@/app/desk/children/[childId]/sets/[photoSetId]/answering.module.css";
import { PhotoBoard, type BoardPhoto } from "@/app/desk/children/[childId]/sets/[photoSetId]/photo-board";
import type { BoardWords } from "@/app/desk/children/[childId]/sets/[photoSetId]/words";

/** Every photo of the set, the first one first, each with its own marks. */
export function MarkBoard({ photos, items, words, canDraw }: {
  readonly photos: readonly BoardPhoto[];
  readonly items: readonly { readonly value: string; readonly label: string }[];
  readonly words: BoardWords;
  readonly canDraw: boolean;
}) {
  return (
    <div className={styles.board}>
      {photos.map((photo) => <PhotoBoard key={photo.photoId} photo={photo} items={items} words={words} canDraw={canDraw} />)}
      <noscript><p className={styles.help}>{words.noScript}</p></noscript>
    </div>
  );
}
