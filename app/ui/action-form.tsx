"use client";

import { createContext, use, useActionState, useState, type ReactNode } from "react";
import { Notice } from "@/app/ui/notice";
import styles from "@/app/ui/stack.module.css";
import type { Problem } from "@/lib/domain/result";

/** Mirrors what `action()` gives back; kept structural, since this runs in the browser. */
export type FormOutcome = {
  readonly problem: Problem | null;
  readonly typed: Readonly<Record<string, string>>;
  readonly isDone: boolean;
};
const FRESH: FormOutcome = { problem: null, typed: {}, isDone: false };

const Typed = createContext<FormOutcome>(FRESH);
/** What was typed into this field before the form came back with a problem. */
export const useTyped = (name: string): string | undefined => use(Typed).typed[name];
export const useOutcome = (): FormOutcome => use(Typed);

/**
 * A form around an `action()`: carries the key that makes the act happen once, and whom it is about;
 * shows what went wrong and keeps what was typed. Works before and without scripts.
 */
export function ActionForm({ action, once, childId, familyId, problemWords, doneWords, label, children }: {
  readonly action: (state: FormOutcome, form: FormData) => Promise<FormOutcome>;
  /** A random key made on the server for this rendering; a new one is made after each success. */
  readonly once: string;
  readonly childId?: string;
  readonly familyId?: string;
  /** Sentences by problem code, with `{name}` for values; the key "other" stands in for the rest. */
  readonly problemWords: Readonly<Record<string, string>>;
  readonly doneWords?: string;
  readonly label?: string;
  readonly children: ReactNode;
}) {
  // Given to React as it came: a function wrapped around it could not be sent before scripts run.
  const [outcome, run] = useActionState(action, FRESH);
  const [{ key, of, from }, setKey] = useState({ key: once, of: outcome, from: once });
  // A page rendered anew after its own act brings a new key; with the old one the next act would count as a repeat.
  if (from !== once) setKey({ key: once, of: outcome, from: once });
  else if (of !== outcome) setKey({ key: outcome.isDone ? crypto.randomUUID() : key, of: outcome, from });
  return (
    <form action={run} className={styles.stack} data-gap="medium" {...(label ? { "aria-label": label } : {})}>
      <input type="hidden" name="once" value={key} />
      {childId ? <input type="hidden" name="childId" value={childId} /> : null}
      {familyId ? <input type="hidden" name="familyId" value={familyId} /> : null}
      {outcome.problem ? <Notice kind="problem">{sentence(problemWords, outcome.problem)}</Notice> : null}
      {outcome.isDone && doneWords ? <Notice kind="done">{doneWords}</Notice> : null}
      <Typed value={outcome}>{children}</Typed>
    </form>
  );
}

function sentence(words: Readonly<Record<string, string>>, problem: NonNullable<FormOutcome["problem"]>): string {
  const text = words[problem.code] ?? words["other"] ?? problem.code;
  return text.replace(/\{(\w+)\}/g, (whole, name: string) => String(problem.values?.[name] ?? whole));
}
