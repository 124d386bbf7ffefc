"use client";

import { useState } from "react";
import { draftOf, saidOf, stepOf, type Fields } from "@/app/desk/children/[childId]/curve/draft";
import { EntryFields } from "@/app/desk/children/[childId]/curve/entry-fields";
import { ReadBackFields, SaidBefore } from "@/app/desk/children/[childId]/curve/read-back-fields";
import styles from "@/app/desk/children/[childId]/curve/curve-editor.module.css";
import { SpineSchematic, type SpineLabel } from "@/app/ui/schematic/spine-schematic";
import type { DrawnCurve } from "@/app/ui/schematic/spine-geometry";
import { useOutcome } from "@/app/ui/action-form";
import { CheckRow } from "@/app/ui/choice";
import { Notice } from "@/app/ui/notice";
import { Columns, Stack } from "@/app/ui/stack";
import { StepHeading } from "@/app/ui/step-heading";
import { SubmitButton } from "@/app/ui/submit-button";
import { checkCurveRecord } from "@/lib/domain/curve/check-record";
import { readApex, REGIONS, regionsOf } from "@/lib/domain/curve/region";

export type EditorWords = Readonly<Record<string, string>>;

/**
 * Entry, read-back and second look in one form: the server's answer says which shows. Later steps
 * keep the entry in a closed part of the page, so that a side is said again without seeing the first,
 * and nothing typed is lost. Without scripts the same happens, and the drawing comes with the answer.
 */
export function CurveEditor({ words, warnings, label, today }: {
  readonly words: EditorWords;
  readonly warnings: EditorWords;
  readonly label: SpineLabel;
  readonly today: string;
}) {
  const { problem, typed } = useOutcome();
  const step = stepOf(problem?.code ?? null);
  const w = (key: string) => words[key] ?? key;
  const entry = <DrawnEntry words={words} label={label} typed={typed} field={step === "entry" ? (problem?.field ?? null) : null} />;
  if (step === "entry") {
    return (
      <Stack>
        <StepHeading words={w("step1")}>{w("entered")}</StepHeading>
        {entry}
        <SubmitButton pending={w("working")}>{w("review")}</SubmitButton>
      </Stack>
    );
  }
  const draft = draftOf(typed);
  return (
    <Stack>
      {step === "read-back" ? (
        <>
          <StepHeading words={w("step2")}>{w("readBackLead")}</StepHeading>
          <ReadBackFields draft={draft} words={words} typed={typed} />
        </>
      ) : (
        <>
          <StepHeading words={w("step3")}>{w("secondLookLead")}</StepHeading>
          <SaidBefore typed={typed} />
          {checkCurveRecord(draft, saidOf(typed), today).warnings.map(({ id }) => (
            <Notice key={id} kind="caution">
              <p>{warnings[id] ?? id}</p>
              <CheckRow name={`ack:${id}`} label={w("ack")} defaultChecked={typed[`ack:${id}`] === "yes"} />
            </Notice>
          ))}
        </>
      )}
      <SubmitButton pending={w("working")}>{w("save")}</SubmitButton>
      <details>
        <summary>{w("change")}</summary>
        {entry}
      </details>
    </Stack>
  );
}

/** The entry beside its drawing, which follows what is typed. */
function DrawnEntry({ words, label, typed, field }: {
  readonly words: EditorWords;
  readonly label: SpineLabel;
  readonly typed: Fields;
  readonly field: string | null;
}) {
  const [live, setLive] = useState<Fields | null>(null);
  return (
    <div onChange={(event) => {
      const form = event.currentTarget.closest("form");
      if (form) setLive(Object.fromEntries([...new FormData(form)].flatMap(([name, value]) => (typeof value === "string" ? [[name, value]] : []))));
    }}>
      <Columns>
        <EntryFields words={words} field={field} />
        <figure className={styles.drawn}>
          <figcaption>{words["drawn"]}</figcaption>
          <SpineSchematic curves={drawn(live ?? typed)} label={label} />
        </figure>
      </Columns>
    </div>
  );
}

/** A curve is drawn as soon as its side is said; its apex once it can be read and belongs there. */
function drawn(fields: Fields): readonly DrawnCurve[] {
  const { regions } = draftOf(fields);
  return REGIONS.flatMap((region) => {
    const finding = regions[region];
    if (finding?.state !== "curve" || finding.convexSide === null) return [];
    const apex = readApex(finding.apex);
    const isThere = apex.ok && regionsOf(apex.value).includes(region);
    return [{ region, side: finding.convexSide, ...(isThere ? { apex: apex.value } : {}) }];
  });
}
