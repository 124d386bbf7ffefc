import type { KeyboardEvent } from "react";
import styles from "@/app/desk/children/[childId]/sets/[photoSetId]/board.module.css";
import { BoardWays } from "@/app/desk/children/[childId]/sets/[photoSetId]/board-tools";
import { PARTS } from "@/app/desk/children/[childId]/sets/[photoSetId]/mark-grips";
import type { Board } from "@/app/desk/children/[childId]/sets/[photoSetId]/use-board";
import { Unseen } from "@/app/ui/unseen";
import { handlesOf } from "@/lib/domain/marks/handles";
import { NOTE_LIMIT, type Mark } from "@/lib/domain/marks/marks";
import { NO_WORDS, noteWords } from "@/lib/domain/marks/new-mark";

/** What moves a mark, the chosen mark's own row (its words, its item, what moves, and its end), and every mark by name. */
export function MarkRows({ board }: { readonly board: Board }) {
  const { marks, chosen, chosenMark, words, canDraw, view } = board;
  return (
    <div className={styles.marks} data-empty={marks.length === 0 && view.zoom <= 1 ? "" : undefined}>
      <BoardWays board={board} />
      {chosenMark && canDraw ? <MarkRow board={board} mark={chosenMark} /> : null}
      {marks.length > 0 ? <ul className={styles.names} aria-label={words.marks}>
        {marks.map((mark, index) => (
          <li key={mark.id}>
            <button
              type="button" className={styles.tool} aria-pressed={mark.id === chosen?.id} aria-label={board.fullNameOf(mark, index)}
              onClick={() => {
                board.choose({ id: mark.id, handle: null });
                board.focusMark(mark.id);
              }}
            >
              {board.nameOf(mark, index)}
            </button>
          </li>
        ))}
      </ul> : null}
    </div>
  );
}

function MarkRow({ board, mark }: { readonly board: Board; readonly mark: Mark }) {
  const { words, items, chosen } = board;
  const handles = handlesOf(mark);
  return (
    <div className={styles.row}>
      {mark.kind === "note" ? <NoteField board={board} mark={mark} /> : null}
      <label className={styles.field}>
        <Unseen whenWide>{words.belongs}</Unseen>
        <select value={mark.itemKey ?? ""} onChange={(event) => board.change({ ...mark, itemKey: event.target.value || null })}>
          <option value="">{words.noItem}</option>
          {items.map((item) => <option key={item.value} value={item.value}>{item.label}</option>)}
        </select>
      </label>
      {handles.length > 0 ? (
        <label className={styles.field}>
          <Unseen whenWide>{words.moves}</Unseen>
          <select value={chosen?.handle ?? ""} onChange={(event) => board.choose({ id: mark.id, handle: handles.find((each) => each.key === event.target.value)?.key ?? null })}>
            <option value="">{words.all}</option>
            {handles.map(({ key }) => <option key={key} value={key}>{words[PARTS[key]]}</option>)}
          </select>
        </label>
      ) : null}
      <button type="button" className={styles.tool} onClick={() => board.remove(mark)}>{words.remove}</button>
    </div>
  );
}

function NoteField({ board, mark }: { readonly board: Board; readonly mark: Extract<Mark, { readonly kind: "note" }> }) {
  const onKey = (event: KeyboardEvent) => {
    // Enter would send the answer.
    if (event.key !== "Enter" && event.key !== "Escape") return;
    event.preventDefault();
    board.focusMark(mark.id);
    board.choose({ id: mark.id, handle: null });
    board.say(board.fullNameOf(mark, board.marks.indexOf(mark)));
  };
  return (
    <label className={styles.field}>
      <Unseen whenWide>{board.words.noteText}</Unseen>
      <input
        type="text" data-note="" autoComplete="off" maxLength={NOTE_LIMIT} value={mark.text === NO_WORDS ? "" : mark.text} onKeyDown={onKey}
        onChange={(event) => board.change({ ...mark, text: noteWords(event.target.value) }, `words ${mark.id}`)}
      />
    </label>
  );
}
