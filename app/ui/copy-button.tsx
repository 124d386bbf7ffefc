"use client";

import { useState } from "react";
import { Button } from "@/app/ui/button";

type Words = { readonly copy: string; readonly copied: string; readonly failed: string };

/** Copies the codes, and says so; where the browser does not let it, the text can still be marked by hand. */
export function CopyButton({ text, words }: { readonly text: string; readonly words: Words }) {
  const [said, setSaid] = useState("");
  return (
    <div>
      <Button kind="quiet" onClick={() => {
        navigator.clipboard.writeText(text).then(() => setSaid(words.copied), () => setSaid(words.failed));
      }}>{words.copy}</Button>
      <output>{said}</output>
    </div>
  );
}
