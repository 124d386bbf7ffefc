"use client";

import type { ReactNode } from "react";
import { useFormStatus } from "react-dom";
import { Button, type ButtonKind } from "@/app/ui/button";

/** Says that its form is on the way; pressed again meanwhile, it does nothing. */
export function SubmitButton({ kind = "primary", pending, name, value, children }: {
  readonly kind?: ButtonKind;
  /** Words while the form is on its way. */
  readonly pending: string;
  readonly name?: string;
  readonly value?: string;
  readonly children: ReactNode;
}) {
  const status = useFormStatus();
  return (
    <Button type="submit" kind={kind} aria-disabled={status.pending} {...(name ? { name } : {})} {...(value ? { value } : {})}
      onClick={(event) => {
        if (status.pending) event.preventDefault();
      }}>
      {status.pending ? pending : children}
    </Button>
  );
}
