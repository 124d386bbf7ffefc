"use client";

import { useSyncExternalStore, type ReactNode } from "react";
import { wayBack } from "@/lib/domain/installed/shell";

const never = () => () => {};

/** Back to the page that could not be reached; a whole new load, since nothing of it is here. */
export function BackLink({ children }: { readonly children: ReactNode }) {
  const href = useSyncExternalStore(never, () => wayBack(window.location.search), () => "/family");
  return <a href={href}>{children}</a>;
}
