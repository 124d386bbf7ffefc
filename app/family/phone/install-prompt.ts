/** The browser's own question, which it hands over once and early: kept until somebody opens the page that asks it. */
type Prompt = Event & { prompt(): Promise<unknown> };

let kept: Prompt | null = null;
const listeners = new Set<() => void>();

function keep(prompt: Prompt | null): void {
  kept = prompt;
  for (const listener of listeners) listener();
}

if (typeof window !== "undefined") {
  window.addEventListener("beforeinstallprompt", (event) => {
    event.preventDefault();
    keep(event as Prompt); // not in the types: W3C Manifest Incubations
  });
  window.addEventListener("appinstalled", () => keep(null));
}

export function onInstallPrompt(listener: () => void): () => void {
  listeners.add(listener);
  return () => listeners.delete(listener);
}
export const hasInstallPrompt = (): boolean => kept !== null;

/** A prompt is good for one asking. */
export function askToInstall(): void {
  void kept?.prompt();
  keep(null);
}
