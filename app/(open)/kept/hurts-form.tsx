"use client";

import { useState } from "react";
import { Button } from "@/app/ui/button";
import { CheckGroup, CheckRow, Choice } from "@/app/ui/choice";
import { TextArea } from "@/app/ui/field";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { Row, Stack } from "@/app/ui/stack";
import type { Kept, OfflineReport } from "@/lib/domain/kept/kept";
import { worded } from "@/lib/domain/kept/view";
import { SYMPTOM_KEYS, SYMPTOMS, tierOf } from "@/lib/domain/symptoms/symptoms";

/** The same two tiers as with signal. What is marked stops the child at once. */
export function HurtsForm({ kept, onBack, onReport }: {
  readonly kept: Kept;
  readonly onBack: () => void;
  readonly onReport: (report: OfflineReport) => void;
}) {
  const [isMissing, setIsMissing] = useState(false);
  const tier = (name: "urgent" | "today") => SYMPTOM_KEYS.filter((key) => SYMPTOMS[key] === name)
    .map((key) => <CheckRow key={key} name="noticed" value={key} label={worded(kept, `family.symptom.is.${key}`)} />);
  return (
    <form aria-label={worded(kept, "family.symptom.title")} onSubmit={(event) => {
      event.preventDefault();
      const form = new FormData(event.currentTarget);
      const noticed = SYMPTOM_KEYS.filter((key) => form.getAll("noticed").includes(key));
      const [childId, strongest] = [form.get("childId"), tierOf(noticed)];
      if (typeof childId !== "string" || strongest === null) setIsMissing(true);
      else onReport({ key: crypto.randomUUID(), childId, noticed, tier: strongest, note: String(form.get("note") ?? ""), photoSetId: null, writtenAt: Date.now() });
    }}>
      <Stack>
        <Heading level={1} lead={worded(kept, "kept.hurtsLead")}>{worded(kept, "family.symptom.title")}</Heading>
        {isMissing ? <Notice kind="problem">{worded(kept, "kept.hurtsMissing")}</Notice> : null}
        <Choice legend={worded(kept, "family.symptom.who")} name="childId" required options={kept.children.map(({ childId, name }) => ({ value: childId, label: name }))} />
        <Notice kind="stop" title={worded(kept, "family.symptom.urgent")}>{worded(kept, "family.emergencySoon")}</Notice>
        <CheckGroup legend={worded(kept, "family.symptom.urgent")}>{tier("urgent")}</CheckGroup>
        <CheckGroup legend={worded(kept, "family.symptom.today")} hint={worded(kept, "family.stopToday")}>{tier("today")}</CheckGroup>
        <TextArea name="note" label={worded(kept, "family.symptom.note")} maxLength={2000} />
        <Row>
          <Button type="submit" kind="stop">{worded(kept, "kept.hurtsSend")}</Button>
          <Button kind="quiet" onClick={onBack}>{worded(kept, "kept.hurtsBack")}</Button>
        </Row>
      </Stack>
    </form>
  );
}
