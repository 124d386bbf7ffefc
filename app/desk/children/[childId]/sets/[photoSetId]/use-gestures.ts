"use client";

import { useEffect, useRef, useState, type PointerEvent, type RefObject } from "react";
import type { Board } from "@/app/desk/children/[childId]/sets/[photoSetId]/use-board";
import { screenPoint, toPhoto, toScreen, type PhotoPoint, type ScreenPoint } from "@/lib/domain/marks/geometry";
import { handlesOf, moveHandle, type HandleKey } from "@/lib/domain/marks/handles";
import { markAt } from "@/lib/domain/marks/hit";
import { moveMark, type Mark } from "@/lib/domain/marks/marks";
import { fitOf, panBy, pinch, wheelFactor, wheelPixels, zoomAbout } from "@/lib/domain/marks/viewport";

type Gesture =
  | { readonly kind: "pan" }
  | { readonly kind: "pinch" }
  | { readonly kind: "draw"; readonly start: PhotoPoint; readonly from: ScreenPoint }
  | { readonly kind: "move"; readonly mark: Mark; readonly handle: HandleKey | null; readonly start: PhotoPoint; readonly run: string };

/** CSS pixels: half a target of 44 for a finger, less for what points exactly. */
const REACH = { touch: 22, other: 12 } as const;
/** CSS pixels under which a press is no drag. */
const STILL = 6;

/** Mouse, pen and fingers on the photo. `isHeld`: the space bar is down, so that a drag looks around. */
export function useGestures(board: Board, canvas: RefObject<SVGSVGElement | null>, isHeld: RefObject<boolean>) {
  const [preview, setPreview] = useState<Mark | null>(null);
  const pointers = useRef(new Map<number, ScreenPoint>());
  const gesture = useRef<Gesture | null>(null);
  const runs = useRef(0);
  const { photo, box, view, tool, places } = board;
  const fit = fitOf(view, photo, box);

  useOwnTouches(canvas, gesture, board);

  const spot = (event: { readonly clientX: number; readonly clientY: number }): ScreenPoint => {
    const frame = canvas.current?.getBoundingClientRect();
    return screenPoint(event.clientX - (frame?.left ?? 0), event.clientY - (frame?.top ?? 0));
  };
  const drawTo = (point: PhotoPoint, start?: PhotoPoint) => {
    const [first, ...rest] = start && places.length === 0 ? [start, point] : [...places, point];
    return tool && first ? board.draw(tool, [first, ...rest]) : null;
  };
  /** Undefined when nothing is there; null when what is there is chosen and stays. */
  const takeHold = (at: ScreenPoint, isFinger: boolean): Gesture | null | undefined => {
    const reach = isFinger ? REACH.touch : REACH.other;
    const held = board.chosenMark;
    const handle = held && handlesOf(held).find((each) => apart(toScreen(each.at, fit), at) <= reach);
    const found = handle ? held : markAt(board.marks, toPhoto(at, fit), fit, reach);
    if (!found) return undefined;
    board.choose({ id: found.id, handle: handle?.key ?? null });
    board.focusMark(found.id, handle?.key, true);
    runs.current += 1;
    // A finger that scrolls the page must not carry off a mark: it chooses first, and moves what is chosen.
    const isMoved = board.canDraw && (!isFinger || found.id === held?.id);
    return isMoved ? { kind: "move", mark: found, handle: handle?.key ?? null, start: toPhoto(at, fit), run: `drag ${runs.current}` } : null;
  };
  const begin = (event: PointerEvent<SVGSVGElement>, at: ScreenPoint): Gesture | null => {
    if (isHeld.current || event.button === 1) return { kind: "pan" };
    if (tool !== null) return { kind: "draw", start: toPhoto(at, fit), from: at };
    const taken = takeHold(at, event.pointerType === "touch");
    if (taken !== undefined) return taken;
    board.choose(null);
    return view.zoom > 1 ? { kind: "pan" } : null;
  };
  const end = () => {
    gesture.current = null;
    setPreview(null);
  };

  return {
    preview,
    onPointerDown: (event: PointerEvent<SVGSVGElement>) => {
      if (event.button === 2) return;
      const at = spot(event);
      pointers.current.set(event.pointerId, at);
      event.currentTarget.setPointerCapture(event.pointerId);
      event.currentTarget.focus({ preventScroll: true });
      if (pointers.current.size > 1) {
        setPreview(null);
        gesture.current = { kind: "pinch" };
      } else gesture.current = begin(event, at);
    },
    onPointerMove: (event: PointerEvent<SVGSVGElement>) => {
      const before = pointers.current.get(event.pointerId);
      const at = spot(event);
      const point = toPhoto(at, fit);
      const now = gesture.current;
      // An angle's second arm follows a mouse that is not pressed.
      if (!before || now === null) return places.length > 0 && !before ? setPreview(drawTo(point)) : undefined;
      const fingers = [...pointers.current.values()];
      pointers.current.set(event.pointerId, at);
      switch (now.kind) {
        case "pan":
          return board.setView((each) => panBy(each, at.x - before.x, at.y - before.y, photo, box));
        case "pinch": {
          const [a, b] = fingers;
          const [c, d] = pointers.current.values();
          return a && b && c && d ? board.setView((each) => pinch(each, [a, b], [c, d], photo, box)) : undefined;
        }
        case "draw":
          return setPreview(drawTo(point, now.start));
        case "move":
          return board.change(now.handle ? moveHandle(now.mark, now.handle, point) : moveMark(now.mark, point.x - now.start.x, point.y - now.start.y), now.run);
      }
    },
    onPointerUp: (event: PointerEvent<SVGSVGElement>) => {
      pointers.current.delete(event.pointerId);
      const now = gesture.current;
      // The finger that is left after a pinch does nothing until it is lifted.
      if (pointers.current.size > 0) return;
      end();
      if (now?.kind !== "draw" || tool === null) return;
      const at = spot(event);
      const point = toPhoto(at, fit);
      const isDrag = apart(now.from, at) > STILL;
      if (tool !== "angle") return board.add(board.draw(tool, isDrag ? [now.start, point] : [now.start]));
      const all = places.length === 0 && isDrag ? [now.start, point] : [...places, point];
      const [first, ...rest] = all;
      if (first && all.length >= 3) return board.add(board.draw(tool, [first, ...rest]));
      board.setPlaces(all);
      if (all.length === 2) board.say(board.words.secondArm);
    },
    onPointerCancel: (event: PointerEvent<SVGSVGElement>) => {
      pointers.current.delete(event.pointerId);
      if (pointers.current.size === 0) end();
    },
  };
}

const apart = (a: ScreenPoint, b: ScreenPoint): number => Math.hypot(a.x - b.x, a.y - b.y);

/**
 * What React cannot refuse, because it listens passively: the page's own scrolling and zooming while
 * a finger draws, moves or pinches, and its scrolling by a wheel that zooms the photo. A finger on
 * the whole photo without a tool still scrolls the page, and so does a wheel that has nothing to zoom.
 */
function useOwnTouches(canvas: RefObject<SVGSVGElement | null>, gesture: RefObject<Gesture | null>, board: Board): void {
  const latest = useRef(board);
  useEffect(() => {
    latest.current = board;
  });
  useEffect(() => {
    const svg = canvas.current;
    if (!svg) return;
    const onTouch = (event: TouchEvent) => {
      if ((event.touches.length > 1 || gesture.current !== null) && event.cancelable) event.preventDefault();
    };
    const onWheel = (event: WheelEvent) => {
      const { photo, box, view, setView } = latest.current;
      const frame = svg.getBoundingClientRect();
      const about = screenPoint(event.clientX - frame.left, event.clientY - frame.top);
      const by = (each: typeof view) => zoomAbout(each, wheelFactor(wheelPixels(event)), about, photo, box);
      if (by(view).zoom === view.zoom && !event.ctrlKey) return;
      event.preventDefault();
      setView(by);
    };
    // The browser would take the focus from the mark that was just taken hold of.
    const onMouse = (event: MouseEvent) => event.preventDefault();
    for (const kind of ["touchstart", "touchmove"] as const) svg.addEventListener(kind, onTouch, { passive: false });
    svg.addEventListener("wheel", onWheel, { passive: false });
    svg.addEventListener("mousedown", onMouse);
    return () => {
      for (const kind of ["touchstart", "touchmove"] as const) svg.removeEventListener(kind, onTouch);
      svg.removeEventListener("wheel", onWheel);
      svg.removeEventListener("mousedown", onMouse);
    };
  }, [canvas, gesture]);
}
