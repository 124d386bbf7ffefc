"use client";

import { useEffect, useState, type ComponentProps } from "react";
import { PickPhoto } from "@/app/family/send/ready/pick-photo";
import type { FirstPhoto, SendSteps } from "@/app/family/send/send-steps";
import { stepSaid } from "@/app/family/send/step-names";
import { ViewSelect } from "@/app/family/send/view-select";
import { Button } from "@/app/ui/button";
import { Notice } from "@/app/ui/notice";
import { Stack } from "@/app/ui/stack";
import { StepHeading } from "@/app/ui/step-heading";
import type { View } from "@/lib/domain/setup/vocabulary";

/** The photo's checks and all that follows. */
const stepsCode = () => import("@/app/family/send/send-steps");
const TOUCHES = ["pointerdown", "keydown", "scroll"] as const;

/**
 * The sending page as it stands before a photo is chosen, without what comes after: that is fetched with
 * the first touch of the page, while there is a line, or taken from what the worker keeps.
 */
export function SendStart(given: Omit<ComponentProps<typeof SendSteps>, "first">) {
  const { words } = given;
  const [view, setView] = useState<View>("behind");
  const [stands, setStands] = useState<"" | "coming" | "lost">("");
  const [first, setFirst] = useState<FirstPhoto | null>(null);
  const [Steps, setSteps] = useState<typeof SendSteps | null>(null);

  useEffect(() => {
    const over = new AbortController();
    const fetchIt = () => {
      over.abort();
      for (const code of [stepsCode(), import("@/app/family/queue/queue"), import("@/app/family/kept/store")]) code.catch(() => undefined); // asked for again when it is needed
    };
    for (const touch of TOUCHES) window.addEventListener(touch, fetchIt, { passive: true, signal: over.signal });
    return () => over.abort();
  }, []);

  /** The photo is held until the rest is here: a camera's own may be nowhere else. */
  async function take(photo: FirstPhoto): Promise<void> {
    setFirst(photo);
    setStands("coming");
    try {
      const code = await stepsCode();
      setSteps(() => code.SendSteps);
    } catch {
      setStands("lost");
    }
  }

  if (Steps && first) return <Steps {...given} first={first} />;
  return (
    <section aria-labelledby="send-step">
      <Stack>
        <StepHeading id="send-step" words={stepSaid(words, "photos")}>{words["photosTitle"]}</StepHeading>
        {first ? <span hidden data-unsent="true" /> : null}
        <Stack gap="small">
          <ViewSelect value={view} words={words} onView={setView} />
          <PickPhoto words={words} isBusy={stands === "coming"} onPicked={(file) => void take({ file, view })} />
          <p aria-live="polite">{stands === "coming" ? words["opening"] : null}</p>
          {stands === "lost" && first ? (
            <>
              <Notice kind="problem">{words["lost"]}</Notice>
              <Button kind="quiet" onClick={() => void take(first)}>{words["again"]}</Button>
            </>
          ) : null}
        </Stack>
        <Button disabled>{words["next"]}</Button>
      </Stack>
    </section>
  );
}
