"use client";

import { useId, type ReactNode } from "react";
import { useTyped } from "@/app/ui/action-form";
import styles from "@/app/ui/choice.module.css";

export type ChoiceOption = { readonly value: string; readonly label: ReactNode; readonly hint?: ReactNode };

const described = (id: string, hint: ReactNode, error: string | undefined) =>
  [hint ? `${id}-hint` : null, error ? `${id}-error` : null].filter((each) => each !== null).join(" ") || undefined;

/** One of several, as full-width rows or, with `row`, side by side. Nothing is preselected unless said. */
export function Choice({ legend, name, hint, error, defaultValue, options, row = false, required = false }: {
  readonly legend: ReactNode;
  readonly name: string;
  readonly hint?: ReactNode;
  readonly error?: string | undefined;
  readonly defaultValue?: string | undefined;
  readonly options: readonly ChoiceOption[];
  readonly row?: boolean;
  readonly required?: boolean;
}) {
  const id = useId();
  const typed = useTyped(name) ?? defaultValue;
  return (
    <fieldset className={styles.group} data-wrong={error ? "" : undefined} aria-describedby={described(id, hint, error)}>
      <legend className={styles.legend}>{legend}</legend>
      {hint ? <p id={`${id}-hint`} className={styles.hint}>{hint}</p> : null}
      <div className={styles.options} data-row={row ? "" : undefined}>
        {options.map((option) => (
          <label key={option.value} className={styles.option}>
            <input type="radio" name={name} value={option.value} required={required} defaultChecked={option.value === typed} className={styles.box} />
            <span>
              {option.label}
              {option.hint ? <span className={styles.small}>{option.hint}</span> : null}
            </span>
          </label>
        ))}
      </div>
      {error ? <p id={`${id}-error`} className={styles.error}>{error}</p> : null}
    </fieldset>
  );
}

/** One tick, alone or in a `CheckGroup`. */
export function CheckRow({ label, name, value = "yes", defaultChecked = false, hint, required = false }: {
  readonly label: ReactNode;
  readonly name: string;
  readonly value?: string;
  readonly defaultChecked?: boolean;
  readonly hint?: ReactNode;
  readonly required?: boolean;
}) {
  const typed = useTyped(name);
  return (
    <label className={styles.option}>
      <input type="checkbox" name={name} value={value} required={required} defaultChecked={typed === undefined ? defaultChecked : typed.split("\n").includes(value)} className={styles.box} />
      <span>
        {label}
        {hint ? <span className={styles.small}>{hint}</span> : null}
      </span>
    </label>
  );
}

/** Several ticks under one question; its children are `CheckRow`s. */
export function CheckGroup({ legend, hint, error, children }: {
  readonly legend: ReactNode;
  readonly hint?: ReactNode;
  readonly error?: string | undefined;
  readonly children: ReactNode;
}) {
  const id = useId();
  return (
    <fieldset className={styles.group} data-wrong={error ? "" : undefined} aria-describedby={described(id, hint, error)}>
      <legend className={styles.legend}>{legend}</legend>
      {hint ? <p id={`${id}-hint`} className={styles.hint}>{hint}</p> : null}
      <div className={styles.options}>{children}</div>
      {error ? <p id={`${id}-error`} className={styles.error}>{error}</p> : null}
    </fieldset>
  );
}
