"use client";

import { useSyncExternalStore } from "react";
import { Button } from "@/app/ui/button";
import { ScreenOnly } from "@/app/ui/screen-only";

const never = () => () => {};

/** Opens the browser's own print window; without scripts it says where that is found. Neither is on the paper. */
export function PrintThis({ words }: { readonly words: { readonly print: string; readonly hint: string } }) {
  const isScripted = useSyncExternalStore(never, () => true, () => false);
  return (
    <ScreenOnly>
      {isScripted ? <div><Button kind="quiet" onClick={() => window.print()}>{words.print}</Button></div> : <p>{words.hint}</p>}
    </ScreenOnly>
  );
}
