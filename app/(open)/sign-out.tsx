"use client";

import { useRef, useState } from "react";
import { Button } from "@/app/ui/button";
import { Heading } from "@/app/ui/heading";
import { Stack } from "@/app/ui/stack";

/** Fetched when it is pressed: few pages need it. */
const phone = () => import("@/app/family/queue/clear");

/**
 * A plain form without scripts. With them it asks before unsent photos would be lost; those of somebody
 * else who uses this phone stay without asking.
 */
export function SignOut({ personId, words }: { readonly personId: string; readonly words: Readonly<Record<string, string>> }) {
  const form = useRef<HTMLFormElement>(null);
  const [isAsked, setIsAsked] = useState(false);
  const keep = useRef<HTMLInputElement>(null);

  async function press(): Promise<void> {
    const { unsentHere } = await phone();
    if ((await unsentHere(personId)).own > 0) setIsAsked(true);
    else await leave();
  }

  /** Whatever is unsent by now stays. */
  async function leave(): Promise<void> {
    const { clearAllButQueue, unsentHere } = await phone();
    const { own, others } = await unsentHere(personId);
    if (own + others > 0) {
      await clearAllButQueue();
      if (keep.current) keep.current.value = "unsent";
    }
    form.current?.submit();
  }

  async function eraseAndLeave(): Promise<void> {
    await (await phone()).eraseOf(personId);
    await leave();
  }

  return (
    <form ref={form} method="post" action="/sign-out" onSubmit={(event) => {
      event.preventDefault();
      void press();
    }}>
      <input ref={keep} type="hidden" name="keep" />
      {isAsked ? (
        <Stack gap="small">
          <Heading level={2}>{words["title"]}</Heading>
          <p>{words["lead"]}</p>
          <Button onClick={() => void leave()}>{words["keep"]}</Button>
          <p>{words["keepWhat"]}</p>
          <Button kind="quiet" onClick={() => void eraseAndLeave()}>{words["erase"]}</Button>
          <Button kind="quiet" onClick={() => setIsAsked(false)}>{words["stay"]}</Button>
        </Stack>
      ) : <Button type="submit" kind="quiet">{words["press"]}</Button>}
    </form>
  );
}
