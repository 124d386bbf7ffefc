"use client";

import { useEffect, useEffectEvent, useRef } from "react";
import styles from "@/app/desk/children/[childId]/sets/[photoSetId]/board.module.css";
import { BoardCanvas } from "@/app/desk/children/[childId]/sets/[photoSetId]/board-canvas";
import { BoardTools } from "@/app/desk/children/[childId]/sets/[photoSetId]/board-tools";
import type { BoardWords } from "@/app/desk/children/[childId]/sets/[photoSetId]/board-words";
import { useClips } from "@/app/desk/children/[childId]/sets/[photoSetId]/clip-around";
import type { ItemOption } from "@/app/desk/children/[childId]/sets/[photoSetId]/mark-names";
import { MarkRows } from "@/app/desk/children/[childId]/sets/[photoSetId]/mark-rows";
import { useBoard, type Board, type BoardPhoto } from "@/app/desk/children/[childId]/sets/[photoSetId]/use-board";
import { useBoardKeys } from "@/app/desk/children/[childId]/sets/[photoSetId]/use-board-keys";
import { serialiseMarks, type Mark } from "@/lib/domain/marks/marks";

/**
 * The photos of a set, with what was taken from its clips, and the marks on them: one large, the others to switch to. It is as wide as
 * its place and takes the height it is given, `--photo-height` for the photo where it is given none.
 */
export function MarkBoard({ photos, items, words, canDraw }: {
  readonly photos: readonly BoardPhoto[];
  readonly items: readonly ItemOption[];
  readonly words: BoardWords;
  readonly canDraw: boolean;
}) {
  const { moments } = useClips();
  const [first, ...others] = [...photos, ...moments];
  if (!first) return null;
  return (
    <>
      <OpenBoard photos={[first, ...others]} items={items} words={words} canDraw={canDraw} />
      <noscript>
        {others.map((photo) => <img key={photo.photoId} src={photo.src} alt={photo.alt} width={photo.width} height={photo.height} />)}
        <p className={styles.help}>{words.noScript}</p>
      </noscript>
    </>
  );
}

function OpenBoard({ photos, items, words, canDraw }: {
  readonly photos: readonly [BoardPhoto, ...BoardPhoto[]];
  readonly items: readonly ItemOption[];
  readonly words: BoardWords;
  readonly canDraw: boolean;
}) {
  const root = useRef<HTMLElement>(null);
  const board = useBoard(photos, items, words, canDraw, root);
  const isHeld = useBoardKeys(board, root);
  const { asked } = useClips();
  const bring = useEffectEvent((photoId: string) => board.bring(photoId));
  useEffect(() => {
    if (asked) bring(asked.photoId);
  }, [asked]);
  return (
    <section ref={root} className={styles.board} aria-label={words.label}>
      <BoardCanvas board={board} isHeld={isHeld} />
      <div className={styles.bar}>
        {photos.length > 1 ? <PhotoStrip board={board} /> : null}
        <BoardTools board={board} />
      </div>
      <output className={styles.status}>{board.status === "" ? (canDraw ? words.help : words.helpView) : board.status}</output>
      <MarkRows board={board} />
      {photos.map(({ photoId }) => <MarksField key={photoId} photoId={photoId} marks={board.marksOf(photoId)} />)}
    </section>
  );
}

function PhotoStrip({ board }: { readonly board: Board }) {
  return (
    <ul className={styles.strip} aria-label={board.words.photos}>
      {board.photos.map((photo, index) => (
        <li key={photo.photoId}>
          <button type="button" className={styles.thumb} data-moment={photo.short} aria-pressed={photo === board.photo} aria-label={photo.alt} onClick={() => board.show(index)}>
            <img src={photo.thumb} alt="" />
            <span aria-hidden="true">{photo.short ?? index + 1}</span>
          </button>
        </li>
      ))}
    </ul>
  );
}

/** One photo's marks as the form sends them. */
function MarksField({ photoId, marks }: { readonly photoId: string; readonly marks: readonly Mark[] }) {
  const field = useRef<HTMLInputElement>(null);
  const told = useRef(marks);
  useEffect(() => {
    // The draft listens to the form's own events, which a hidden field does not send by itself.
    if (told.current !== marks) field.current?.dispatchEvent(new Event("input", { bubbles: true }));
    told.current = marks;
  }, [marks]);
  return <input ref={field} type="hidden" name={`marks.${photoId}`} value={marks.length > 0 ? serialiseMarks(marks) : ""} />;
}
