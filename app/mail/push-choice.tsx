"use client";

import { useRouter } from "next/navigation";
import { useEffect, useState } from "react";
import { standingHere, turnOff, turnOn, type Outcome, type Standing } from "@/app/mail/push-here";
import { Button } from "@/app/ui/button";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { Stack } from "@/app/ui/stack";

type Words = Readonly<Record<Outcome | "title" | "working" | "turnOn" | "turnOff", string>>;

/** Whether this browser is pushed to, and the other choice. The browser is asked upon a press alone; nothing before scripts run. */
export function PushChoice({ personId, publicKey, isKnown, words }: {
  readonly personId: string;
  readonly publicKey: string;
  readonly isKnown: boolean;
  readonly words: Words;
}) {
  const [standing, setStanding] = useState<Standing | null>(null);
  const [isBusy, setIsBusy] = useState(false);
  const [failure, setFailure] = useState<Outcome | null>(null);
  const router = useRouter();
  useEffect(() => {
    standingHere(isKnown).then(setStanding, () => setStanding("unsupported"));
  }, [isKnown]);
  if (standing === null) return null;
  const press = async (turn: Promise<Outcome>) => {
    setIsBusy(true);
    const outcome = await turn;
    setIsBusy(false);
    const isStanding = outcome === "on" || outcome === "off" || outcome === "blocked";
    setFailure(isStanding ? null : outcome);
    if (isStanding) setStanding(outcome);
    // The list of all phones stands in the page.
    if (isStanding) router.refresh();
  };
  return (
    <Stack gap="small">
      <Heading level={2}>{words.title}</Heading>
      <p aria-live="polite">{isBusy ? words.working : words[standing]}</p>
      {failure ? <Notice kind="problem">{words[failure]}</Notice> : null}
      {standing === "off" ? <div><Button disabled={isBusy} onClick={() => void press(turnOn(personId, publicKey))}>{words.turnOn}</Button></div> : null}
      {standing === "on" ? <div><Button kind="quiet" disabled={isBusy} onClick={() => void press(turnOff(personId))}>{words.turnOff}</Button></div> : null}
    </Stack>
  );
}
