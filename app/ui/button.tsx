import Link from "next/link";
import type { ComponentProps, ReactNode } from "react";
import styles from "@/app/ui/button.module.css";

/** `stop` is for acts that stop a child or confirm a stop, and for nothing else: filled as a button, outlined as a link and with `data-leads`. */
export type ButtonKind = "primary" | "quiet" | "stop";

/** Takes every property of a `<button>` but `style` and `className`; `aria-pressed` marks one that stays down. */
export function Button({ kind = "primary", type = "button", children, ...rest }: Omit<ComponentProps<"button">, "style" | "className"> & {
  readonly kind?: ButtonKind;
}) {
  return <button {...rest} type={type} className={styles.button} data-kind={kind}>{children}</button>;
}

/** A link that looks like a button, for going somewhere. */
export function ButtonLink({ href, kind = "primary", isInNewTab = false, children }: {
  readonly href: string;
  readonly kind?: ButtonKind;
  /** Where what stands on this page must stay. */
  readonly isInNewTab?: boolean;
  readonly children: ReactNode;
}) {
  return <Link href={href} prefetch={false} className={styles.button} data-kind={kind} {...(isInNewTab ? { target: "_blank" } : {})}>{children}</Link>;
}

/** A link to a file that is saved: nothing to go to, so the browser takes it itself. */
export function DownloadLink({ href, children }: { readonly href: string; readonly children: ReactNode }) {
  return <a href={href} download className={styles.button} data-kind="primary">{children}</a>;
}

/** A file field that looks like a button; the field itself lies over it, unseen, and takes the keyboard. */
export function FileButton({ kind = "primary", children, ...rest }: Omit<ComponentProps<"input">, "style" | "className" | "type"> & {
  readonly kind?: ButtonKind;
}) {
  return (
    <label className={styles.button} data-kind={kind} data-file>
      <input {...rest} type="file" />
      <span>{children}</span>
    </label>
  );
}
