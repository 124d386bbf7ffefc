"use client";

import { useEffect, useRef, type RefObject } from "react";
import { boardKey, type BoardKey } from "@/app/desk/children/[childId]/sets/[photoSetId]/board-keys";
import { isTyping, singleKeysAreOn } from "@/app/desk/single-keys";
import type { Board } from "@/app/desk/children/[childId]/sets/[photoSetId]/use-board";

/** What a key of its own presses: Enter and the space bar stay theirs. */
const PRESSED = "button, a, summary, input, [role=button]:not([data-mark]):not([data-handle])";

/** Gives the board its keys; returns whether the space bar is held down over it. */
export function useBoardKeys(board: Board, root: RefObject<HTMLElement | null>): RefObject<boolean> {
  const isHeld = useRef(false);
  const latest = useRef(board);
  useEffect(() => {
    latest.current = board;
  });
  useEffect(() => {
    const onKey = (event: KeyboardEvent) => {
      const at = event.target;
      if (event.defaultPrevented || !(at instanceof Element) || isTyping(at)) return;
      const pressed = boardKey(event);
      if (!pressed) return;
      const canvas = root.current?.querySelector("[data-canvas]");
      // One character alone works while single keys are on, or where the focus is on the board itself (WCAG 2.2, 2.1.4).
      if (event.key.length === 1 && !event.ctrlKey && !event.metaKey && !singleKeysAreOn() && !root.current?.contains(at)) return;
      if (pressed.ask === "hold") {
        if (!canvas || at.matches(PRESSED) || !canvas.matches(":hover, :focus-within")) return;
        isHeld.current = true;
        canvas.setAttribute("data-held", "");
      } else if (!answer(latest.current, pressed, { isOnPhoto: canvas?.contains(at) ?? false, isOnButton: at.matches("button, a, summary"), now: event.timeStamp })) return;
      event.preventDefault();
    };
    const onUp = (event: KeyboardEvent) => {
      if (event.key !== " ") return;
      isHeld.current = false;
      root.current?.querySelector("[data-canvas]")?.removeAttribute("data-held");
    };
    document.addEventListener("keydown", onKey);
    document.addEventListener("keyup", onUp);
    return () => {
      document.removeEventListener("keydown", onKey);
      document.removeEventListener("keyup", onUp);
    };
  }, [root]);
  return isHeld;
}

type Where = { readonly isOnPhoto: boolean; readonly isOnButton: boolean; readonly now: number };

/** True when the key meant something here. */
function answer(board: Board, key: Exclude<BoardKey, { readonly ask: "hold" }>, { isOnPhoto, isOnButton, now }: Where): boolean {
  const { chosenMark, canDraw, tool } = board;
  switch (key.ask) {
    case "tool":
      if (canDraw) (tool === key.kind ? board.place : board.takeTool)(key.kind);
      return canDraw;
    case "place":
      if (tool === null || isOnButton) return false;
      board.place(tool);
      return true;
    case "go":
      if (isOnPhoto) board.go(key.direction, key.isLarge, now);
      return isOnPhoto;
    case "view":
      board.look(key.step);
      return true;
    case "photo":
      board.showNext(key.by);
      return board.photos.length > 1;
    case "mark":
      board.switchMark(key.by);
      return true;
    case "undo":
      if (canDraw && board.canUndo) board.undo();
      return canDraw;
    case "redo":
      if (canDraw && board.canRedo) board.redo();
      return canDraw;
    case "remove":
      if (!isOnPhoto || !chosenMark || !canDraw) return false;
      board.remove(chosenMark);
      return true;
    case "leave":
      if (tool === null && !isOnPhoto) return false;
      board.leave();
      return true;
  }
}
