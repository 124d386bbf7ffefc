import styles from "@/app/desk/children/[childId]/sets/[photoSetId]/ink.module.css";
import { MarkShapes } from "@/app/desk/children/[childId]/sets/[photoSetId]/mark-shapes";
import type { Board } from "@/app/desk/children/[childId]/sets/[photoSetId]/use-board";
import { drawMarks } from "@/lib/domain/marks/draw";
import { inPixels } from "@/lib/domain/marks/angle";
import { handlesOf, type HandleKey } from "@/lib/domain/marks/handles";

/** CSS pixels: half of a touch target, and what is seen of it. */
const [TARGET, DOT] = [22, 8];

/** SVG has no button of its own. */
const BUTTON = { role: "button", tabIndex: 0 } as const;

/** The marks as the keyboard and a screen reader meet them: each can be focused, the chosen one shows its handles. */
export function MarkGrips({ board, scale }: {
  readonly board: Board;
  /** CSS pixels a pixel of the photo takes. */
  readonly scale: number;
}) {
  const { photo, marks, chosen, words, canDraw } = board;
  return marks.map((mark, index) => {
    const isChosen = mark.id === chosen?.id;
    return (
      <g key={mark.id}>
        <g
          className={styles.grip} {...BUTTON} data-mark={mark.id} aria-pressed={isChosen} aria-label={board.fullNameOf(mark, index)}
          onFocus={() => board.choose({ id: mark.id, handle: null })}
        >
          {drawMarks([mark], photo.width, photo.height, words.labels, photo.levelDegrees).map((shape, at) => {
            if (shape.kind === "path" && shape.layer === "halo") return <path key={at} d={shape.d} strokeWidth={shape.strokeWidth + 6 / scale} />;
            return shape.kind === "circle" && shape.layer === "halo" ? <circle key={at} cx={shape.cx} cy={shape.cy} r={shape.r + 4 / scale} strokeWidth={3 / scale} /> : null;
          })}
        </g>
        {/* Over its own outline, so that the chosen mark reads as it will be burned in. */}
        {isChosen ? <MarkShapes marks={[mark]} width={photo.width} height={photo.height} labels={words.labels} levelDegrees={photo.levelDegrees ?? null} /> : null}
        {isChosen && canDraw ? handlesOf(mark).map(({ key, at }) => {
          const { x, y } = inPixels(at, photo);
          return (
            <g
              key={key} className={styles.handle} {...BUTTON} data-handle={key} aria-pressed={chosen.handle === key}
              aria-label={`${board.nameOf(mark, index)}: ${words[PARTS[key]]}`} onFocus={() => board.choose({ id: mark.id, handle: key })}
            >
              <circle className={styles.target} cx={x} cy={y} r={TARGET / scale} />
              <circle cx={x} cy={y} r={DOT / scale} strokeWidth={2 / scale} />
            </g>
          );
        }) : null}
      </g>
    );
  });
}

export const PARTS = { from: "partFrom", vertex: "partVertex", to: "partTo", across: "partAcross", down: "partDown" } as const satisfies Record<HandleKey, string>;
