import styles from "@/app/desk/children/[childId]/sets/[photoSetId]/board.module.css";
import { TOOL_KEYS, type Direction } from "@/app/desk/children/[childId]/sets/[photoSetId]/board-keys";
import type { Board } from "@/app/desk/children/[childId]/sets/[photoSetId]/use-board";
import { MARK_KINDS } from "@/lib/domain/marks/marks";
import { MOST_ZOOM } from "@/lib/domain/marks/viewport";

/** Buttons for what a drag, a wheel or a key does, each with its key. */
export function BoardTools({ board }: { readonly board: Board }) {
  const { words, tool, view, canDraw } = board;
  return (
    <div className={styles.tools} role="toolbar" aria-label={words.tools}>
      {canDraw ? MARK_KINDS.map((kind) => (
        <button
          key={kind} type="button" className={styles.tool} aria-pressed={tool === kind} aria-keyshortcuts={TOOL_KEYS[kind]}
          // Pressed from the keyboard there is no place to point at: it goes in the middle.
          onClick={(event) => (event.detail === 0 ? board.place(kind) : board.takeTool(tool === kind ? null : kind))}
        >
          {words[kind]} <kbd>{TOOL_KEYS[kind]}</kbd>
        </button>
      )) : null}
      {canDraw ? <Sign word={words.undo} sign="↶" keys="Control+Z" isOff={!board.canUndo} onPress={board.undo} /> : null}
      {canDraw ? <Sign word={words.redo} sign="↷" keys="Control+Y" isOff={!board.canRedo} onPress={board.redo} /> : null}
      <Sign word={words.smaller} sign="−" keys="-" isOff={view.zoom <= 1} onPress={() => board.look("out")} />
      <Sign word={words.larger} sign="+" keys="+" isOff={view.zoom >= MOST_ZOOM} onPress={() => board.look("in")} />
      <Sign word={words.whole} sign="⤢" keys="0" isOff={view.zoom <= 1} onPress={() => board.look("whole")} />
    </div>
  );
}

/** The arrow keys as buttons: they move the chosen mark or what of it moves, and else look around. */
export function BoardWays({ board }: { readonly board: Board }) {
  const isOff = board.chosenMark === null && board.view.zoom <= 1;
  return (
    <div className={styles.ways}>
      {WAYS.map(([direction, sign]) => <Sign key={direction} word={board.words[direction]} sign={sign} isOff={isOff} onPress={(now) => board.go(direction, false, now)} />)}
    </div>
  );
}

const WAYS: readonly (readonly [Direction, string])[] = [["left", "←"], ["up", "↑"], ["down", "↓"], ["right", "→"]];

/** Stays focusable when it can do nothing, so that the keyboard does not lose its place. */
function Sign({ word, sign, keys, isOff, onPress }: {
  readonly word: string;
  readonly sign: string;
  readonly keys?: string;
  readonly isOff: boolean;
  readonly onPress: (now: number) => void;
}) {
  return (
    <button type="button" className={styles.tool} aria-label={word} title={word} aria-keyshortcuts={keys} aria-disabled={isOff} onClick={(event) => (isOff ? undefined : onPress(event.timeStamp))}>
      <span aria-hidden="true">{sign}</span>
    </button>
  );
}
