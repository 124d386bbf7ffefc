"use client";

import { useRouter } from "next/navigation";
import { useEffect } from "react";

const EVERY_MS = 2000;

/** Looks again by itself while something is being made; without scripts the link beside it does. */
export function LookAgain() {
  const router = useRouter();
  useEffect(() => {
    const timer = setInterval(() => {
      if (document.visibilityState === "visible") router.refresh();
    }, EVERY_MS);
    return () => clearInterval(timer);
  }, [router]);
  return null;
}
