"use client";

import { useRouter } from "next/navigation";
import { useEffect } from "react";

/** The key `n` opens the next one to answer, unless somebody is typing. */
export function NextKey({ href }: { readonly href: string }) {
  const router = useRouter();
  useEffect(() => {
    const onKey = (event: KeyboardEvent) => {
      const at = event.target;
      const isTyping = at instanceof HTMLElement && at.matches("input, textarea, select");
      if (event.key === "n" && !isTyping && !event.ctrlKey && !event.metaKey && !event.altKey) router.push(href);
    };
    document.addEventListener("keydown", onKey);
    return () => document.removeEventListener("keydown", onKey);
  }, [href, router]);
  return null;
}
