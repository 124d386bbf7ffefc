"use client";

import { useState } from "react";
import type { Queue } from "@/app/family/queue/queue";
import { Button } from "@/app/ui/button";
import { Notice } from "@/app/ui/notice";
import { Row } from "@/app/ui/stack";
import type { Entry } from "@/lib/domain/sending/entry";

export type SetParts = { readonly entry: Entry; readonly queue: Queue; readonly words: Readonly<Record<string, string>> };

/** Asked twice: it cannot be undone. */
export function TakeOut({ entry, queue, words }: SetParts) {
  const [isAsked, setIsAsked] = useState(false);
  if (!isAsked) return <Button kind="quiet" onClick={() => setIsAsked(true)}>{words["takeOut"]}</Button>;
  return (
    <Notice kind="caution">
      <p>{words["takeOutAsk"]}</p>
      <Row>
        <Button onClick={() => void queue.takeOut(entry.id)}>{words["takeOutYes"]}</Button>
        <Button kind="quiet" onClick={() => setIsAsked(false)}>{words["takeOutNo"]}</Button>
      </Row>
    </Notice>
  );
}

export const filled = (sentence: string | undefined, values: Readonly<Record<string, string | number>>): string =>
  (sentence ?? "").replace(/\{(\w+)\}/g, (whole, name: string) => String(values[name] ?? whole));
