import Link from "next/link";
import type { ComponentProps, ReactNode } from "react";
import styles from "@/app/ui/button.module.css";

/** `stop` is for acts that stop a child or confirm a stop, and for nothing else. */
export type ButtonKind = "primary" | "quiet" | "stop";

export function Button({ kind = "primary", type = "button", children, ...rest }: Omit<ComponentProps<"button">, "style" | "className"> & {
  readonly kind?: ButtonKind;
}) {
  return <button {...rest} type={type} className={styles.button} data-kind={kind}>{children}</button>;
}

export function ButtonLink({ href, kind = "primary", children }: {
  readonly href: string;
  readonly kind?: ButtonKind;
  readonly children: ReactNode;
}) {
  return <Link href={href} prefetch={false} className={styles.button} data-kind={kind}>{children}</Link>;
}
