"use client";

import { useId, type ReactNode } from "react";
import { useTyped } from "@/app/ui/action-form";
import styles from "@/app/ui/choice.module.css";

export type ChoiceOption = { readonly value: string; readonly label: ReactNode; readonly hint?: ReactNode };

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
    <fieldset className={styles.group} aria-describedby={hint ? `${id}-hint` : undefined}>
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
      {error ? <p className={styles.error}>{error}</p> : null}
    </fieldset>
  );
}

export function CheckRow({ label, name, value = "yes", defaultChecked = false, hint, required = false }: {
  readonly label: ReactNode;
  readonly name: string;
  readonly value?: string;
  readonly defaultChecked?: boolean;
  readonly hint?: ReactNode;
  readonly required?: boolean;
}) {
  return (
    <label className={styles.option}>
      <input type="checkbox" name={name} value={value} required={required} defaultChecked={defaultChecked} className={styles.box} />
      <span>
        {label}
        {hint ? <span className={styles.small}>{hint}</span> : null}
      </span>
    </label>
  );
}

export function CheckGroup({ legend, hint, error, children }: {
  readonly legend: ReactNode;
  readonly hint?: ReactNode;
  readonly error?: string | undefined;
  readonly children: ReactNode;
}) {
  const id = useId();
  return (
    <fieldset className={styles.group} aria-describedby={hint ? `${id}-hint` : undefined}>
      <legend className={styles.legend}>{legend}</legend>
      {hint ? <p id={`${id}-hint`} className={styles.hint}>{hint}</p> : null}
      <div className={styles.options}>{children}</div>
      {error ? <p className={styles.error}>{error}</p> : null}
    </fieldset>
  );
}
