"use client";

import { useEffect, useReducer, useRef, useState, type RefObject } from "react";
import type { BoardWords } from "@/app/desk/children/[childId]/sets/[photoSetId]/board-words";
import type { Direction } from "@/app/desk/children/[childId]/sets/[photoSetId]/board-keys";
import { fill, fullName, shortName, type ItemOption } from "@/app/desk/children/[childId]/sets/[photoSetId]/mark-names";
import { useItemInHand } from "@/app/desk/children/[childId]/sets/[photoSetId]/use-item-in-hand";
import type { PhotoPoint } from "@/lib/domain/marks/geometry";
import { nudgeHandle, type HandleKey } from "@/lib/domain/marks/handles";
import { act, redo, startHistory, undo, type Act, type History } from "@/lib/domain/marks/history";
import { MARKS_LIMIT, moveMark, type Mark, type MarkKind } from "@/lib/domain/marks/marks";
import { drawnMark, placedMark } from "@/lib/domain/marks/new-mark";
import { stepView, WHOLE, type Size, type View, type ViewStep } from "@/lib/domain/marks/viewport";

export type BoardPhoto = Size & {
  readonly photoId: string;
  readonly src: string;
  /** A small picture of it for choosing. */
  readonly thumb: string;
  readonly alt: string;
  /** Written on its small picture in place of its number: of a moment, its time. */
  readonly short?: string;
  /** The draft's marks, read on the server: what reads them is heavier than all that draws. */
  readonly saved: readonly Mark[];
  /** As in `readingOf`, from the photo's side card. */
  readonly levelDegrees?: number | null;
};

export type Chosen = { readonly id: string; readonly handle: HandleKey | null };
export type Board = ReturnType<typeof useBoard>;

/** Share of the photo's longer side that one press of an arrow key moves a mark when the whole photo is shown. */
const NUDGE = 0.01;
const LARGE = 5;
/** Milliseconds after which the next press of an arrow key is a change of its own. */
const RUN_PAUSE = 1000;

/** All of the board's state, and what can be done with it: by pointer, key and button alike. */
export function useBoard(photos: readonly [BoardPhoto, ...BoardPhoto[]], items: readonly ItemOption[], words: BoardWords, canDraw: boolean, root: RefObject<HTMLElement | null>) {
  const [histories, dispatch] = useReducer(reduce, photos, readSaved);
  const [shown, setShown] = useState(photos[0].photoId);
  const [views, setViews] = useState<Readonly<Record<string, View>>>({});
  const [box, setBox] = useState<Size | null>(null);
  const [chosen, setChosen] = useState<Chosen | null>(null);
  const [tool, setTool] = useState<MarkKind | null>(null);
  const [places, setPlaces] = useState<readonly PhotoPoint[]>([]);
  const [status, setStatus] = useState("");
  const hand = useItemInHand(root, items);
  const keyRun = useRef({ mark: "", at: 0, count: 0 });
  const focusNext = useRef<{ readonly selector: string; readonly preventScroll: boolean } | null>(null);
  const [, showAgain] = useReducer((count: number) => count + 1, 0);

  const photo = photos.find((each) => each.photoId === shown) ?? photos[0];
  const history = histories[photo.photoId] ?? NOTHING;
  const { marks } = history;
  const view = views[photo.photoId] ?? WHOLE;
  const room = box ?? photo;

  useEffect(() => {
    if (focusNext.current === null) return;
    const { selector, preventScroll } = focusNext.current;
    const field = root.current?.querySelector<HTMLElement>(selector);
    focusNext.current = null;
    field?.focus({ preventScroll });
    if (field instanceof HTMLInputElement) field.select();
  });

  const step = (by: (each: History) => History) => dispatch({ photoId: photo.photoId, by });
  const doing = (given: Act, run: string | null = null) => step((each) => act(each, given, run));
  const tell = (sentence: string, mark: Mark, index = marks.findIndex((each) => each.id === mark.id)) =>
    setStatus(fill(sentence, { mark: fullName(mark, index < 0 ? marks.length : index, photo, items, words) }));
  const focusOn = (selector: string, preventScroll = false) => {
    focusNext.current = { selector, preventScroll };
    showAgain();
  };
  const focusMark = (id: string, handle: HandleKey | null = null, preventScroll = false) =>
    focusOn(handle ? `[data-handle="${handle}"]` : `[data-mark="${CSS.escape(id)}"]`, preventScroll);
  const choose = (next: Chosen | null) => {
    if (next?.id === chosen?.id && next?.handle === chosen?.handle) return;
    setChosen(next);
    const mark = marks.find((each) => each.id === next?.id);
    if (mark && next?.id !== chosen?.id) tell(words.chosen, mark);
  };
  const takeTool = (kind: MarkKind | null) => {
    const isFull = kind !== null && marks.length >= MARKS_LIMIT;
    setTool(isFull ? null : kind);
    setPlaces([]);
    setStatus(isFull ? words.full : kind === null ? words.away : fill(words.toolChosen, { mark: words[kind] }));
  };
  const own = () => ({ id: crypto.randomUUID(), itemKey: hand.item() });
  const add = (mark: Mark) => {
    if (marks.length >= MARKS_LIMIT) return takeTool(mark.kind);
    doing({ do: "add", mark });
    setChosen({ id: mark.id, handle: null });
    setTool(null);
    setPlaces([]);
    tell(words.placed, mark, marks.length);
    if (mark.kind === "note") focusOn("[data-note]");
    else focusMark(mark.id);
  };
  const change = (mark: Mark, run: string | null = null) => {
    doing({ do: "change", mark }, run);
    tell(words.moved, mark);
  };
  const show = (index: number) => {
    const next = photos[(index + photos.length) % photos.length];
    if (!next || next === photo) return;
    setShown(next.photoId);
    setChosen(null);
    setPlaces([]);
    setStatus(fill(words.shown, { photo: next.alt }));
  };
  const chosenMark = marks.find((each) => each.id === chosen?.id) ?? null;

  return {
    photo, photos, marks, view, box: room, chosen, chosenMark, tool, places, status, words, items, canDraw, setBox, setPlaces, choose, takeTool, add, change, focusMark,
    isMeasured: box !== null,
    marksOf: (photoId: string) => (histories[photoId] ?? NOTHING).marks,
    canUndo: history.done.length > 0,
    canRedo: history.undone.length > 0,
    setView: (by: (before: View) => View) => setViews((all) => ({ ...all, [photo.photoId]: by(all[photo.photoId] ?? WHOLE) })),
    draw: (kind: MarkKind, at: readonly [PhotoPoint, ...PhotoPoint[]]) => drawnMark(kind, at, own()),
    place: (kind: MarkKind) => {
      hand.remember();
      add(placedMark(kind, view, photo, room, own()));
    },
    say: setStatus,
    remove: (mark: Mark) => {
      doing({ do: "remove", id: mark.id });
      setChosen(null);
      tell(words.removed, mark);
      focusOn("[data-canvas]");
    },
    undo: () => {
      step(undo);
      setStatus(words.undone);
    },
    redo: () => {
      step(redo);
      setStatus(words.redone);
    },
    /** The chosen mark or handle by one press; without one, what is looked at. */
    go: (direction: Direction, isLarge: boolean, now: number) => {
      if (!chosenMark || !canDraw) return setViews((all) => ({ ...all, [photo.photoId]: stepView(view, direction, photo, room) }));
      const run = keyRun.current;
      const of = `${chosenMark.id} ${chosen?.handle ?? ""}`;
      if (run.mark !== of || now - run.at > RUN_PAUSE) run.count += 1;
      keyRun.current = { ...run, mark: of, at: now };
      const far = (Math.max(photo.width, photo.height) * NUDGE * (isLarge ? LARGE : 1)) / view.zoom;
      const [dx, dy] = [(WAYS[direction][0] * far) / photo.width, (WAYS[direction][1] * far) / photo.height];
      change(chosen?.handle ? nudgeHandle(chosenMark, chosen.handle, dx, dy) : moveMark(chosenMark, dx, dy), `keys ${run.count}`);
    },
    look: (given: ViewStep) => {
      const next = stepView(view, given, photo, room);
      setViews((all) => ({ ...all, [photo.photoId]: next }));
      setStatus(fill(words.zoomed, { percent: Math.round(next.zoom * 100) }));
    },
    switchMark: (by: 1 | -1) => {
      const at = marks.findIndex((each) => each.id === chosen?.id);
      const next = marks[at < 0 ? (by > 0 ? 0 : marks.length - 1) : (at + by + marks.length) % marks.length];
      if (!next) return;
      hand.remember();
      choose({ id: next.id, handle: null });
      focusMark(next.id);
    },
    show,
    /** Shows one by its id and goes to it. */
    bring: (photoId: string) => {
      show(photos.findIndex((each) => each.photoId === photoId));
      focusOn("[data-canvas]");
    },
    showNext: (by: 1 | -1) => show(photos.indexOf(photo) + by),
    /** Puts the tool away; without one leaves the mark and goes back to the item in hand. */
    leave: () => {
      if (tool !== null) return takeTool(null);
      setChosen(null);
      hand.goBack();
    },
    nameOf: (mark: Mark, index: number) => shortName(mark, index, words),
    fullNameOf: (mark: Mark, index: number) => fullName(mark, index, photo, items, words),
  };
}

const WAYS = { left: [-1, 0], right: [1, 0], up: [0, -1], down: [0, 1] } as const;

const NOTHING = startHistory([]);
type Histories = Readonly<Record<string, History>>;
const reduce = (all: Histories, { photoId, by }: { readonly photoId: string; readonly by: (each: History) => History }): Histories => ({
  ...all,
  [photoId]: by(all[photoId] ?? NOTHING),
});

const readSaved = (photos: readonly BoardPhoto[]): Histories =>
  Object.fromEntries(photos.map(({ photoId, saved }) => [photoId, startHistory(saved)]));
