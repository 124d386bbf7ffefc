"use client";

import type { ReactNode } from "react";
import { useOutcome } from "@/app/ui/action-form";

/** The reply's fields: while it is open, and after a refusal, so that a slower colleague's words stay. */
export function WhileOpen({ isOpen, children }: { readonly isOpen: boolean; readonly children: ReactNode }) {
  const { problem } = useOutcome();
  return isOpen || problem ? children : null;
}
