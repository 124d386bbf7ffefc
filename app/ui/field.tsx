"use client";

import { useId, type ReactNode } from "react";
import { useTyped } from "@/app/ui/action-form";
import styles from "@/app/ui/field.module.css";

type Common = {
  readonly label: ReactNode;
  readonly name: string;
  readonly hint?: ReactNode;
  readonly error?: string | undefined;
  readonly defaultValue?: string | undefined;
  readonly required?: boolean;
};

function Labelled({ id, label, hint, error, children }: {
  readonly id: string;
  readonly label: ReactNode;
  readonly hint?: ReactNode;
  readonly error?: string | undefined;
  readonly children: ReactNode;
}) {
  return (
    <div className={styles.field} data-wrong={error ? "" : undefined}>
      <label className={styles.label} htmlFor={id}>{label}</label>
      {hint ? <p id={`${id}-hint`} className={styles.hint}>{hint}</p> : null}
      {children}
      {error ? <p id={`${id}-error`} className={styles.error}>{error}</p> : null}
    </div>
  );
}

const described = (id: string, hint: ReactNode, error: string | undefined) => {
  const ids = [hint ? `${id}-hint` : null, error ? `${id}-error` : null].filter((each) => each !== null);
  return { ...(ids.length > 0 ? { "aria-describedby": ids.join(" ") } : {}), ...(error ? { "aria-invalid": true } : {}) };
};

export function Field({ label, name, hint, error, defaultValue, type = "text", ...rest }: Common & {
  readonly type?: "text" | "email" | "tel" | "date" | "month" | "time" | "number";
  readonly autoComplete?: string;
  readonly inputMode?: "text" | "numeric" | "email" | "tel" | "decimal";
  readonly maxLength?: number;
  readonly pattern?: string;
  readonly min?: string;
  readonly max?: string;
  readonly step?: string;
}) {
  const id = useId();
  const typed = useTyped(name);
  return (
    <Labelled id={id} label={label} hint={hint} error={error}>
      <input {...rest} id={id} name={name} type={type} className={styles.input} defaultValue={typed ?? defaultValue} {...described(id, hint, error)} />
    </Labelled>
  );
}

export function TextArea({ label, name, hint, error, defaultValue, rows = 3, ...rest }: Common & {
  readonly rows?: number;
  readonly maxLength?: number;
}) {
  const id = useId();
  const typed = useTyped(name);
  return (
    <Labelled id={id} label={label} hint={hint} error={error}>
      <textarea {...rest} id={id} name={name} rows={rows} className={styles.input} defaultValue={typed ?? defaultValue} {...described(id, hint, error)} />
    </Labelled>
  );
}

export type Option = { readonly value: string; readonly label: string };

export function SelectField({ label, name, hint, error, defaultValue, options, ...rest }: Common & { readonly options: readonly Option[] }) {
  const id = useId();
  const typed = useTyped(name);
  return (
    <Labelled id={id} label={label} hint={hint} error={error}>
      {/* A list made anew: one that stands goes back to its first choice when the form is reset. */}
      <select key={typed ?? ""} {...rest} id={id} name={name} className={styles.input} defaultValue={typed ?? defaultValue} {...described(id, hint, error)}>
        {options.map((option) => <option key={option.value} value={option.value}>{option.label}</option>)}
      </select>
    </Labelled>
  );
}
