"use client";

import { useState } from "react";
import { Button } from "@/app/ui/button";
import { Choice } from "@/app/ui/choice";
import { Notice } from "@/app/ui/notice";
import { Stack } from "@/app/ui/stack";
import { READ_BACK_CHOICES, type AskedReadBack, type OpenReadBack } from "@/lib/domain/answering/read-back";
import type { Kept } from "@/lib/domain/kept/kept";
import { worded, type ChildView } from "@/lib/domain/kept/view";

export type Answered = Pick<AskedReadBack, "stopId" | "exerciseKey"> & {
  readonly key: string; readonly question: AskedReadBack["question"]; readonly choice: string; readonly isRight: boolean; readonly writtenAt: number;
};

/** A child's open stops and their questions, before anything else on the screen. */
export function KeptStop({ view, kept, isLost, onAnswer }: {
  readonly view: ChildView;
  readonly kept: Kept;
  readonly isLost: boolean;
  readonly onAnswer: (answered: Answered) => void;
}) {
  const { child, reasons, isWaiting, questions } = view;
  const [isAnswered, setIsAnswered] = useState(false);
  return (
    <Stack>
      <Notice kind="stop" title={child.stopFor}>
        {reasons.has("symptom-urgent") ? <p><strong>{worded(kept, "family.emergencySoon")}</strong></p> : null}
        {reasons.has("symptom-today") ? <p>{worded(kept, "family.stopToday")}</p> : null}
        {reasons.has("staff-stop") ? <p>{worded(kept, "family.stopPlaced")}</p> : null}
        {isWaiting ? <p><strong>{worded(kept, isLost ? "kept.notStored" : "kept.notReached")}</strong> {isLost ? null : worded(kept, "kept.waits")}</p> : null}
      </Notice>
      {questions.map((asked) => (
        <Question key={`${asked.stopId} ${asked.question}`} asked={asked} view={view} kept={kept} onAnswer={(answered) => {
          setIsAnswered(true);
          onAnswer(answered);
        }} />
      ))}
      {isAnswered ? <Notice kind="done">{worded(kept, "kept.readBackWaits")}</Notice> : null}
    </Stack>
  );
}

function Question({ asked, view, kept, onAnswer }: {
  readonly asked: OpenReadBack & AskedReadBack;
  readonly view: ChildView;
  readonly kept: Kept;
  readonly onAnswer: (answered: Answered) => void;
}) {
  const { question, stopId, exerciseKey, right } = asked;
  const setup = view.exercises.find(({ exercise }) => exercise.facts.exerciseKey === exerciseKey)?.exercise.setup;
  return (
    <form aria-label={view.child.questions[question]} onSubmit={(event) => {
      event.preventDefault();
      const choice = String(new FormData(event.currentTarget).get("choice"));
      onAnswer({ key: crypto.randomUUID(), stopId, exerciseKey, question, choice, isRight: choice === right, writtenAt: Date.now() });
      event.currentTarget.reset();
    }}>
      <Stack>
        {asked.wasWrong ? (
          <Notice kind="stop" title={worded(kept, "kept.readBackWrong")}>
            {setup && question !== "practise" ? setup.sideAndProp.map((line) => <p key={line}><strong>{line}</strong></p>) : null}
            {question === "practise" ? <p>{worded(kept, "family.readBack.choice.no")}</p> : null}
          </Notice>
        ) : <p>{worded(kept, "family.readBack.lead")}</p>}
        <Choice legend={view.child.questions[question]} name="choice" required
          options={READ_BACK_CHOICES[question].map((value) => ({ value, label: worded(kept, `family.readBack.choice.${value}`) }))} />
        <div><Button type="submit" kind="stop">{worded(kept, "family.readBack.send")}</Button></div>
      </Stack>
    </form>
  );
}
