"use client";

import { useEffect } from "react";

/** Parts of a page that say what they are: where a pressed button is gone, the innermost of them that is left takes its place. */
const PLACES = "article, section[aria-label], section[aria-labelledby], main";
const PARTS = "section[aria-label], section[aria-labelledby]";
/** What came in answer to an act and is to be heard. `data-arrival` marks the sentence that asks for the next one. */
const NEWS = `[role=alert], [role=status], [data-arrival], ${PARTS}`;
/** Where a page begins to speak: a stop may stand above its heading. */
const BEGINNING = "h1, [role=alert]";

/**
 * On a new page, and where the pressed button is gone, a browser drops the focus: a keyboard starts again at the top
 * and a screen reader says nothing of what came of the press. Here it goes on to what is new, or to where the page
 * begins: at the place its address names, where it names one. The desk moves its own.
 */
export function KeepFocus() {
  useEffect(() => {
    let last: Pressed | null = null;
    let moved: HTMLElement | null = null;
    let here = address();
    const remember = (event: Event) => {
      if (event.target instanceof Element) last = pressedAt(event.target);
    };
    const look = new MutationObserver((changes) => {
      const isElsewhere = here !== address();
      here = address();
      if (here.startsWith("/desk")) return;
      const main = document.querySelector("main");
      const isByKeyboard = last?.isByKeyboard ?? false;
      if (isElsewhere) moved = moveTo(beginningOf(main), isByKeyboard);
      else if (last && !last.from.isConnected && document.activeElement === document.body) {
        const place = last.places.find((each) => each.isConnected) ?? main;
        moved = moveTo(newsIn(place, changes, NEWS) ?? (place === main ? beginningOf(main) : place), isByKeyboard);
      } else if (moved && moved === document.activeElement) {
        // Nothing was pressed since, and what is in work here has come to its next part.
        const part = newsIn(moved, changes, PARTS);
        if (part) moved = moveTo(part, isByKeyboard);
      }
    });
    look.observe(document.body, { childList: true, subtree: true });
    document.addEventListener("focusin", remember);
    document.addEventListener("click", remember, true);
    return () => {
      look.disconnect();
      document.removeEventListener("focusin", remember);
      document.removeEventListener("click", remember, true);
    };
  }, []);
  return null;
}

type Pressed = { readonly from: Element; readonly places: readonly Element[]; readonly isByKeyboard: boolean };

function pressedAt(from: Element): Pressed {
  const places: Element[] = [];
  for (let at = from.closest(PLACES); at; at = at.parentElement?.closest(PLACES) ?? null) places.push(at);
  return { from, places, isByKeyboard: from.matches(":focus-visible") };
}

const address = (): string => window.location.pathname + window.location.search;
const beginningOf = (main: Element | null): Element | null => named(main) ?? main?.querySelector(BEGINNING) ?? main;
function named(main: Element | null): Element | null {
  const found = window.location.hash === "" ? null : document.getElementById(window.location.hash.slice(1));
  return found && main?.contains(found) ? found : null;
}

/** The first of what was just added to a place that is to be heard. */
function newsIn(place: Element | null, changes: readonly MutationRecord[], which: string): Element | null {
  const added = changes.flatMap(({ addedNodes }) => [...addedNodes]).filter((node): node is Element => node instanceof Element && node.isConnected && (place?.contains(node) ?? false));
  for (const element of place?.querySelectorAll(which) ?? []) if (added.some((node) => node.contains(element))) return element;
  return null;
}

/** A finger keeps the page where it is; a keyboard needs to see where it went on to. */
function moveTo(element: Element | null, isByKeyboard: boolean): HTMLElement | null {
  if (!(element instanceof HTMLElement)) return null;
  if (!element.matches("a[href], button, input, select, textarea, [tabindex]")) element.tabIndex = -1;
  element.focus({ preventScroll: !isByKeyboard });
  return element;
}
