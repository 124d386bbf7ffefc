import { MARKS_LIMIT, type Mark } from "@/lib/domain/marks/marks";

/** A mark and where it lies among the others: later ones lie on top. */
type Place = { readonly mark: Mark; readonly index: number };
/** One mark before and after: null where it is not there. */
type Change = { readonly id: string; readonly before: Place | null; readonly after: Place | null };
/** What one undo takes back. `run`: the gesture or the run of keys it came from, or null. */
export type ChangeSet = { readonly run: string | null; readonly changes: readonly Change[] };

/** The marks of one photo, what was done to them, and what was undone and can be done again. */
export type History = { readonly marks: readonly Mark[]; readonly done: readonly ChangeSet[]; readonly undone: readonly ChangeSet[] };

export type Act =
  | { readonly do: "add"; readonly mark: Mark }
  | { readonly do: "change"; readonly mark: Mark }
  | { readonly do: "remove"; readonly id: string };

export const startHistory = (marks: readonly Mark[]): History => ({ marks, done: [], undone: [] });

/**
 * Does it and forgets what was undone. Acts of one run on the same mark, one after the other, become
 * one change set; one that comes back to where it began is forgotten. An act on a mark that is not
 * there, on one added twice, past the limit of marks, or without effect changes nothing.
 */
export function act(history: History, given: Act, run: string | null = null): History {
  const change = changeOf(history.marks, given);
  if (!change) return history;
  const marks = apply(history.marks, [change], "after");
  const last = history.done.at(-1);
  const merged = last && run !== null && last.run === run ? joined(last, change) : null;
  if (!merged) return { marks, done: [...history.done, { run, changes: [change] }], undone: [] };
  const done = history.done.slice(0, -1);
  return { marks, done: merged.changes.length > 0 ? [...done, merged] : done, undone: [] };
}

/** Nothing done: the same again. */
export function undo(history: History): History {
  const last = history.done.at(-1);
  if (!last) return history;
  return { marks: apply(history.marks, last.changes, "before"), done: history.done.slice(0, -1), undone: [...history.undone, last] };
}

/** Nothing undone: the same again. */
export function redo(history: History): History {
  const next = history.undone.at(-1);
  if (!next) return history;
  return { marks: apply(history.marks, next.changes, "after"), done: [...history.done, next], undone: history.undone.slice(0, -1) };
}

function changeOf(marks: readonly Mark[], given: Act): Change | null {
  const id = given.do === "remove" ? given.id : given.mark.id;
  const index = marks.findIndex((mark) => mark.id === id);
  const found = marks[index];
  const before = found ? { mark: found, index } : null;
  if (given.do === "add") return before || marks.length >= MARKS_LIMIT ? null : { id, before, after: { mark: given.mark, index: marks.length } };
  if (!before) return null;
  if (given.do === "remove") return { id, before, after: null };
  return isSame(before.mark, given.mark) ? null : { id, before, after: { mark: given.mark, index } };
}

/** The two as one, or null when they are of different marks and stay apart. */
function joined(last: ChangeSet, next: Change): ChangeSet | null {
  const own = last.changes.find((each) => each.id === next.id);
  if (!own) return null;
  const both: Change = { ...next, before: own.before };
  const isNothing = both.before === null ? both.after === null : both.after !== null && isSame(both.before.mark, both.after.mark);
  return { ...last, changes: [...last.changes.filter((each) => each !== own), ...(isNothing ? [] : [both])] };
}

/** Takes out every mark concerned, then puts each back where it lay, lowest first. */
function apply(marks: readonly Mark[], changes: readonly Change[], side: "before" | "after"): readonly Mark[] {
  const rest = marks.filter((mark) => !changes.some((each) => each.id === mark.id));
  const places = changes.flatMap((each) => each[side] ?? []).toSorted((a, b) => a.index - b.index);
  return places.reduce<readonly Mark[]>((all, { mark, index }) => all.toSpliced(index, 0, mark), rest);
}

/** Marks are plain values whose keys are always written in the same order. */
const isSame = (a: Mark, b: Mark): boolean => JSON.stringify(a) === JSON.stringify(b);
