"use client";

import { useEffect, useRef, useState, type KeyboardEvent, type PointerEvent } from "react";
import styles from "@/app/desk/children/[childId]/sets/[photoSetId]/answering.module.css";
import { MarkShapes } from "@/app/desk/children/[childId]/sets/[photoSetId]/mark-shapes";
import type { BoardWords } from "@/app/desk/children/[childId]/sets/[photoSetId]/words";
import { Button } from "@/app/ui/button";
import { photoPoint, type PhotoPoint } from "@/lib/domain/marks/geometry";
import { moveMark, NOTE_LIMIT, type Mark } from "@/lib/domain/marks/marks";
import { parseMarks, serialiseMarks } from "@/lib/domain/marks/marks.schema";

export type BoardPhoto = { readonly photoId: string; readonly width: number; readonly height: number; readonly src: string; readonly alt: string; readonly saved: string };
type Tool = Mark["kind"];

const ZOOMS = [1, 1.5, 2, 3] as const;
const STEP = 0.01;

/** One photo with its marks: drawn by dragging, or placed in the middle and moved by the arrow keys. */
export function PhotoBoard({ photo, items, words, canDraw }: {
  readonly photo: BoardPhoto;
  readonly items: readonly { readonly value: string; readonly label: string }[];
  readonly words: BoardWords;
  readonly canDraw: boolean;
}) {
  const [marks, setMarks] = useState<readonly Mark[]>(() => readSaved(photo.saved));
  const [chosen, setChosen] = useState<string | null>(null);
  const [tool, setTool] = useState<Tool | null>(null);
  const [zoom, setZoom] = useState(0);
  const [centre, setCentre] = useState({ x: 0.5, y: 0.5 });
  const from = useRef<PhotoPoint | null>(null);
  const field = useRef<HTMLInputElement>(null);
  const told = useRef(marks);

  useEffect(() => {
    // The draft listens to the form's own events, which a hidden field does not send by itself.
    if (told.current !== marks) field.current?.dispatchEvent(new Event("input", { bubbles: true }));
    told.current = marks;
  }, [marks]);

  const share = 1 / (ZOOMS[zoom] ?? 1);
  const left = clamp(centre.x - share / 2, 1 - share);
  const top = clamp(centre.y - share / 2, 1 - share);
  const box = [left * photo.width, top * photo.height, share * photo.width, share * photo.height].join(" ");

  const pointAt = (event: PointerEvent<SVGSVGElement>): PhotoPoint => {
    const matrix = event.currentTarget.getScreenCTM();
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix?.inverse());
    return photoPoint(at.x / photo.width, at.y / photo.height);
  };
  const add = (kind: Tool, start: PhotoPoint, end: PhotoPoint) => {
    const mark = newMark(kind, start, end);
    setMarks((before) => [...before, mark]);
    setChosen(mark.id);
    setTool(null);
  };
  const change = (id: string, by: (mark: Mark) => Mark) => setMarks((before) => before.map((mark) => (mark.id === id ? by(mark) : mark)));
  const remove = (id: string) => setMarks((before) => before.filter((mark) => mark.id !== id));
  const onKey = (event: KeyboardEvent, id: string) => {
    const step = ARROWS[event.key];
    if (event.key === "Delete" || event.key === "Backspace") remove(id);
    else if (step) change(id, (mark) => moveMark(mark, step[0] * STEP, step[1] * STEP));
    else return;
    event.preventDefault();
  };

  return (
    <section className={styles.board} aria-label={photo.alt}>
      <svg
        className={styles.photo} viewBox={box} role="img" aria-label={photo.alt} data-tool={tool ?? undefined}
        onPointerDown={(event) => {
          if (tool === null) return setCentre(pointAt(event));
          event.currentTarget.setPointerCapture(event.pointerId);
          from.current = pointAt(event);
        }}
        onPointerUp={(event) => {
          if (tool !== null && from.current !== null) add(tool, from.current, pointAt(event));
          from.current = null;
        }}
      >
        <image href={photo.src} width={photo.width} height={photo.height} />
        <MarkShapes marks={marks} width={photo.width} height={photo.height} chosen={chosen} />
      </svg>
      <input ref={field} type="hidden" name={`marks.${photo.photoId}`} value={marks.length > 0 ? serialiseMarks(marks) : ""} />
      <div className={styles.tools}>
        {canDraw ? TOOLS.map(({ kind, word }) => (
          <Button key={kind} kind="quiet" aria-pressed={tool === kind}
            onClick={(event) => {
              // Pressed from the keyboard there is no place to point at: it goes in the middle.
              if (event.detail === 0) add(kind, photoPoint(left + share / 2, top + share / 2), photoPoint(left + share * 0.6, top + share * 0.6));
              else setTool(tool === kind ? null : kind);
            }}>{words[word]}</Button>
        )) : null}
        {canDraw && marks.length > 0 ? <Button kind="quiet" onClick={() => setMarks((before) => before.slice(0, -1))}>{words.undo}</Button> : null}
        <Button kind="quiet" disabled={zoom === ZOOMS.length - 1} onClick={() => setZoom(zoom + 1)}>{words.zoomIn}</Button>
        <Button kind="quiet" disabled={zoom === 0} onClick={() => setZoom(zoom - 1)}>{words.zoomOut}</Button>
      </div>
      {canDraw ? <p className={styles.help}>{words.marksHelp}</p> : null}
      <div className={styles.names}>
        {canDraw ? marks.map((mark, at) => (
          <div key={mark.id} className={styles.name}>
            <Button kind="quiet" aria-pressed={mark.id === chosen} onFocus={() => setChosen(mark.id)} onClick={() => setChosen(mark.id)} onKeyDown={(event) => onKey(event, mark.id)}>
              {words[NAMES[mark.kind]].replace("{n}", String(at + 1))}
            </Button>
            <label className={styles.cue}>
              <span>{words.belongs}</span>
              <select value={mark.itemKey ?? ""} onChange={(event) => change(mark.id, (each) => ({ ...each, itemKey: event.target.value || null }))}>
                <option value="">{words.noItem}</option>
                {items.map((item) => <option key={item.value} value={item.value}>{item.label}</option>)}
              </select>
            </label>
            {mark.kind === "note" ? (
              <label className={styles.cue}>
                <span>{words.noteText}</span>
                <input type="text" value={mark.text} maxLength={NOTE_LIMIT} onChange={(event) => change(mark.id, (each) => (each.kind === "note" ? { ...each, text: event.target.value } : each))} />
              </label>
            ) : null}
            <Button kind="quiet" onClick={() => remove(mark.id)}>{words.remove}</Button>
          </div>
        )) : null}
      </div>
    </section>
  );
}

const TOOLS = [{ kind: "arrow", word: "addArrow" }, { kind: "ring", word: "addRing" }, { kind: "note", word: "addNote" }] as const;
const NAMES = { arrow: "markArrow", ring: "markRing", note: "markNote" } as const;
const ARROWS: Readonly<Record<string, readonly [number, number]>> = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

const clamp = (value: number, most: number): number => Math.min(Math.max(value, 0), most);

function readSaved(saved: string): readonly Mark[] {
  const parsed = saved === "" ? null : parseMarks(saved);
  return parsed?.ok ? parsed.value : [];
}

/** A press without a drag gets a size that can be seen. */
function newMark(kind: Tool, start: PhotoPoint, end: PhotoPoint): Mark {
  const common = { id: crypto.randomUUID(), itemKey: null };
  const across = Math.abs(end.x - start.x);
  const down = Math.abs(end.y - start.y);
  if (kind === "note") return { ...common, kind, at: start, text: "…" };
  if (kind === "ring") {
    const center = photoPoint((start.x + end.x) / 2, (start.y + end.y) / 2);
    return { ...common, kind, center, radiusX: Math.max(across / 2, 0.03), radiusY: Math.max(down / 2, 0.03) };
  }
  const tip = across + down < 0.02 ? photoPoint(start.x + 0.1, start.y - 0.1) : end;
  return { ...common, kind, from: start, to: tip };
}
