/** Ids and choices alone; what is kept itself lies in the phone's database. Signing out clears both. */
const HERE = "trueside-here";
const choiceKey = (personId: string): string => `trueside-keep ${personId}`;
const waitingKey = (personId: string): string => `trueside-kept-waits ${personId}`;

/** Whose phone this is now: who was last signed in, with or without a session that still runs. */
export const personHere = (): string | null => read(HERE);
export const setPersonHere = (personId: string | null): void => write(HERE, personId);

export type Choice = "yes" | "not-now";
export function choiceOf(personId: string): Choice | null {
  const choice = read(choiceKey(personId));
  return choice === "yes" || choice === "not-now" ? choice : null;
}
export const choose = (personId: string, choice: Choice): void => write(choiceKey(personId), choice);

/** What was said here without signal and has not arrived; a symptom before the answer to a stop. */
export type Waiting = "symptom" | "read-back";
export function waitingOf(personId: string): Waiting | null {
  const waiting = read(waitingKey(personId));
  return waiting === "symptom" || waiting === "read-back" ? waiting : null;
}
export const noteWaiting = (personId: string, waiting: Waiting | null): void => write(waitingKey(personId), waiting);

const listeners = new Set<() => void>();

/** For `useSyncExternalStore`: told of changes in this page and in others. */
export function onChange(listener: () => void): () => void {
  listeners.add(listener);
  window.addEventListener("storage", listener);
  return () => {
    listeners.delete(listener);
    window.removeEventListener("storage", listener);
  };
}

function read(key: string): string | null {
  try {
    return localStorage.getItem(key);
  } catch {
    return null; // a browser that keeps nothing
  }
}

function write(key: string, value: string | null): void {
  try {
    if (value === null) localStorage.removeItem(key);
    else localStorage.setItem(key, value);
  } catch {
    // A browser that keeps nothing: then nobody is here, and nothing is shown.
  }
  for (const listener of listeners) listener();
}
