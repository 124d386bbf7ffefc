"use client";

import { useState } from "react";
import { Button } from "@/app/ui/button";

type Words = { readonly copy: string; readonly copied: string; readonly failed: string };

/** Copies a text, and says so; where the browser does not let it, as without an encrypted line, the text can still be marked by hand. */
export function CopyButton({ text, words }: { readonly text: string; readonly words: Words }) {
  const [said, setSaid] = useState("");
  return (
    <div>
      <Button kind="quiet" onClick={() => {
        const copied = "clipboard" in navigator ? navigator.clipboard.writeText(text) : Promise.reject(new Error("no clipboard"));
        copied.then(() => setSaid(words.copied), () => setSaid(words.failed));
      }}>{words.copy}</Button>
      <output>{said}</output>
    </div>
  );
}
