"use client";

import type { FormEvent, ReactNode } from "react";
import { SHELL_PATH, shellIn, type Told } from "@/lib/domain/installed/shell";
import type { Locale } from "@/lib/domain/words/reader";

/**
 * On the page that stands without signal nobody can be asked for another language, and nobody needs to be:
 * the worker keeps that page in each. Everywhere else the form inside goes its way.
 */
export function FromPhone({ language, children }: { readonly language: Locale; readonly children: ReactNode }) {
  const turn = (event: FormEvent) => {
    const worker = window.location.pathname === SHELL_PATH ? navigator.serviceWorker?.controller : null;
    if (!worker) return;
    event.preventDefault();
    event.stopPropagation();
    const told: Told = { language };
    worker.postMessage(told, []);
    window.location.assign(shellIn(language, window.location.search));
  };
  return <div onSubmitCapture={turn}>{children}</div>;
}
