"use client";

import { createContext, Fragment, use, useActionState, useEffect, useLayoutEffect, useRef, useState, type ReactNode } from "react";
import { Button } from "@/app/ui/button";
import { Notice } from "@/app/ui/notice";
import { isLostLine, isOldCode } from "@/app/ui/old-code";
import styles from "@/app/ui/stack.module.css";
import { giveBackEarly } from "@/app/ui/typed-early";
import { keepTyped, takeTyped, typedKey, typedOf, typedSince } from "@/app/ui/typed-keep";
import { wordsAtHand } from "@/app/ui/words-at-hand";
import type { Problem } from "@/lib/domain/result";

/** Mirrors what `action()` gives back; kept structural, since this runs in the browser. */
export type FormOutcome = {
  readonly problem: Problem | null;
  readonly said: string;
  readonly typed: Readonly<Record<string, string>>;
  readonly isDone: boolean;
  /** Only a reload helps: the page is older than the server. */
  readonly isOld?: boolean;
};
type Act = (state: FormOutcome, form: FormData) => Promise<FormOutcome>;
export const FRESH: FormOutcome = { problem: null, said: "", typed: {}, isDone: false };

const Typed = createContext<FormOutcome>(FRESH);
/** What was typed into this field before the form came back with a problem. */
export const useTyped = (name: string): string | undefined => use(Typed).typed[name];
export const useOutcome = (): FormOutcome => use(Typed);

/**
 * A form around an `action()`: carries the key that makes the act happen once, and whom it is about;
 * shows what went wrong and keeps what was typed. Works before and without scripts. `isBare`: no box of
 * its own, so that a page can lay its parts out beside what is no part of the form.
 */
export function ActionForm({ action, once, childId, familyId, problemWords, doneWords, label, isBare = false, children }: {
  readonly action: Act;
  /** A random key made on the server for this rendering; a new one is made after each success. */
  readonly once: string;
  readonly childId?: string;
  readonly familyId?: string;
  /** Sentences by problem code, with `{name}` for values, where this form says it otherwise than the action does. */
  readonly problemWords?: Readonly<Record<string, string>>;
  readonly doneWords?: string;
  readonly label?: string;
  readonly isBare?: boolean;
  readonly children: ReactNode;
}) {
  const form = useRef<HTMLFormElement>(null);
  const refusal = useRef<HTMLDivElement>(null);
  useLayoutEffect(() => (form.current ? giveBackEarly(form.current) : undefined), []);
  // On the server React gets it as it came: a function wrapped around it could not be sent before scripts run.
  const [outcome, run] = useActionState(typeof window === "undefined" ? action : keepingTyped(action), FRESH);
  const kept = useKeptTyped(label);
  const [{ key, of, from }, setKey] = useState({ key: once, of: outcome, from: once });
  // A page rendered anew after its own act brings a new key; with the old one the next act would count as a repeat.
  if (from !== once) setKey({ key: once, of: outcome, from: once });
  else if (of !== outcome) setKey({ key: outcome.isDone ? crypto.randomUUID() : key, of: outcome, from });
  const said = (outcome.problem ? sentence(problemWords, outcome.problem) : undefined) ?? outcome.said;
  // A long form is sent at its end and says at its beginning that it was not: unseen, that would pass for sent.
  useEffect(() => {
    if (outcome !== FRESH && !outcome.isDone) refusal.current?.scrollIntoView({ block: "nearest" });
  }, [outcome]);
  return (
    <form ref={form} action={run} className={isBare ? styles.bare : styles.stack} data-gap="medium" {...(label ? { "aria-label": label } : {})}>
      <input type="hidden" name="once" value={key} />
      {childId ? <input type="hidden" name="childId" value={childId} /> : null}
      {familyId ? <input type="hidden" name="familyId" value={familyId} /> : null}
      <div ref={refusal} className={styles.said} data-said>
        {said ? <Notice kind="problem">{said}</Notice> : null}
        {/* Each in a new tab, so that what was typed stays here. */}
        {outcome.problem?.code === "signed-out" ? <p><a href="/sign-in" target="_blank" rel="noreferrer">{wordsAtHand().signIn}</a></p> : null}
        {outcome.problem?.code === "proof-old" ? <p><a href="/desk/account/proof" target="_blank" rel="noreferrer">{wordsAtHand().prove}</a></p> : null}
        {outcome.problem?.code === "mail-proof-old" ? <p><a href="/family/account/proof" target="_blank" rel="noreferrer">{wordsAtHand().proveByMail}</a></p> : null}
        {outcome.isOld ? <Button onClick={() => reloadWith(label, outcome.typed)}>{wordsAtHand().reload}</Button> : null}
        {outcome.isDone && doneWords ? <Notice kind="done">{doneWords}</Notice> : null}
      </div>
      <Typed value={outcome === FRESH && kept ? { ...FRESH, typed: kept } : outcome}>
        {/* Fields made anew: one that stands keeps the tick it was drawn with. */}
        <Fragment key={kept ? "kept" : "fresh"}>{children}</Fragment>
      </Typed>
    </form>
  );
}

/**
 * A lost line and a server that was renewed are said at the form, which would else be gone with what was
 * typed. A form that comes back holds what stands in it by then, not what was sent.
 */
const keepingTyped = (action: Act): Act => async (state, sent) => {
  const outcome = await action(state, sent).catch((error: unknown): FormOutcome => {
    const [isOld, words] = [isOldCode(error), wordsAtHand()];
    if (!isOld && !isLostLine(error)) throw error;
    return { problem: null, said: isOld ? words.oldForm : words.lost, typed: typedOf(sent), isDone: false, isOld };
  });
  const form = formOf(sent);
  if (outcome.isDone || !form) return outcome;
  const ticks = [...form.querySelectorAll<HTMLInputElement>("input[type=checkbox]")].map(({ name }) => name);
  return { ...outcome, typed: { ...outcome.typed, ...typedSince(sent, new FormData(form), ticks) } };
};

/** The form that was sent, by the key it carries. */
const formOf = (sent: FormData): HTMLFormElement | null =>
  document.querySelector<HTMLInputElement>(`input[name="once"][value="${CSS.escape(String(sent.get("once")))}"]`)?.form ?? null;

function reloadWith(label: string | undefined, typed: FormOutcome["typed"]): void {
  keepTyped(typedKey(label), typed);
  window.location.reload();
}

/** What was typed here before this page was reloaded. Read after the first rendering, which is the server's. */
function useKeptTyped(label: string | undefined): FormOutcome["typed"] | null {
  const [kept, setKept] = useState<FormOutcome["typed"] | null>(null);
  useEffect(() => {
    const typed = takeTyped(typedKey(label));
    if (typed) queueMicrotask(() => setKept(typed));
  }, [label]);
  return kept;
}

function sentence(words: Readonly<Record<string, string>> | undefined, problem: Problem): string | undefined {
  return words?.[problem.code]?.replace(/\{(\w+)\}/g, (whole, name: string) => String(problem.values?.[name] ?? whole));
}
