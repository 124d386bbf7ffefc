/** Keys that are one character each stand in the way of speech input: they can be switched off (WCAG 2.2, 2.1.4). */
const KEPT = "single-keys";
const CHANGED = "single-keys-changed";

export const singleKeysAreOn = (): boolean => window.localStorage.getItem(KEPT) !== "off";

export function switchSingleKeys(areOn: boolean): void {
  window.localStorage.setItem(KEPT, areOn ? "on" : "off");
  window.dispatchEvent(new Event(CHANGED));
}

export function watchSingleKeys(tell: () => void): () => void {
  window.addEventListener(CHANGED, tell);
  window.addEventListener("storage", tell);
  return () => {
    window.removeEventListener(CHANGED, tell);
    window.removeEventListener("storage", tell);
  };
}

/** Whether a key pressed here belongs to what is being written or chosen. */
export const isTyping = (at: EventTarget | null): boolean =>
  at instanceof HTMLElement && (at.isContentEditable || at.matches("input:not([type=radio]):not([type=checkbox]):not([type=button]), textarea, select"));
