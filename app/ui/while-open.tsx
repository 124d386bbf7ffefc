"use client";

import type { ReactNode } from "react";
import { useOutcome } from "@/app/ui/action-form";

/** A form's fields: while what they answer is open, and after a refusal, so that the words of who was slower stay. */
export function WhileOpen({ isOpen, children }: { readonly isOpen: boolean; readonly children: ReactNode }) {
  const { problem } = useOutcome();
  return isOpen || problem ? children : null;
}
