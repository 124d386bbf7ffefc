import { addClosureAction, removeClosureAction, setHoursAction, setPracticeAction } from "@/app/desk/practice/actions";
import { DAYS, dayText } from "@/app/desk/practice/hours";
import { problemWords } from "@/app/desk/families/words";
import { ActionForm } from "@/app/ui/action-form";
import { Field, SelectField } from "@/app/ui/field";
import { Heading } from "@/app/ui/heading";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { formatLocalDate } from "@/lib/domain/time/format";
import { zoneNames } from "@/lib/domain/time/zone";
import { say } from "@/lib/messages/say";
import type { PracticeView } from "@/lib/records/practice";

/** What only the practice lead changes; the grants refuse it to anyone else. */
export function LeadForms({ practice }: { readonly practice: PracticeView }) {
  const t = say("desk");
  const save = <SubmitButton pending={t("practice.working")}>{t("practice.save")}</SubmitButton>;
  return (
    <Stack gap="large">
      <section>
        <Heading level={2} lead={t("practice.hoursHint")}>{t("practice.hours")}</Heading>
        <ActionForm action={setHoursAction} once={crypto.randomUUID()} label={t("practice.hours")}
          problemWords={problemWords([], { "form-invalid": t("practice.hoursWrong") })}>
          {DAYS.map((day) => (
            <Field key={day} label={t(`practice.day.${day}`)} name={`day-${day}`} defaultValue={dayText(practice.hours?.week ?? null, day)} maxLength={200} autoComplete="off" />
          ))}
          <Field label={t("practice.promise")} name="promiseHours" inputMode="decimal" required maxLength={6}
            defaultValue={practice.hours ? String(Math.round(practice.hours.promiseMinutes / 0.6) / 100) : undefined} />
          {save}
        </ActionForm>
      </section>
      <section>
        <Heading level={2}>{t("practice.closureAdd")}</Heading>
        <ActionForm action={addClosureAction} once={crypto.randomUUID()} label={t("practice.closureAdd")}
          problemWords={problemWords([], { "dates-disagree": t("practice.closurePast") })}>
          <Field label={t("practice.closureDay")} name="day" type="date" required />
          <Field label={t("practice.closureLabel")} name="label" required maxLength={80} />
          <SubmitButton pending={t("practice.working")}>{t("practice.closureAdd")}</SubmitButton>
        </ActionForm>
        {practice.closures.map((closure) => (
          <ActionForm key={closure.id} action={removeClosureAction} once={crypto.randomUUID()} problemWords={problemWords(["stale-version"])}>
            <input type="hidden" name="id" value={closure.id} />
            <SubmitButton kind="quiet" pending={t("practice.working")}>{t("practice.closureRemoveOf", { day: formatLocalDate(closure.day) })}</SubmitButton>
          </ActionForm>
        ))}
      </section>
      <section>
        <Heading level={2}>{t("practice.settings")}</Heading>
        <ActionForm action={setPracticeAction} once={crypto.randomUUID()} label={t("practice.settings")} problemWords={problemWords(["stale-version"])}>
          <input type="hidden" name="version" value={practice.version} />
          <Field label={t("practice.name")} name="name" required maxLength={80} defaultValue={practice.name} />
          <SelectField label={t("practice.zone")} name="timeZone" defaultValue={practice.timeZone} options={zoneNames().map((name) => ({ value: name, label: name }))} />
          <Field label={t("practice.photoWeeks")} name="photoWeeks" type="number" min="1" max="52" required defaultValue={String(practice.photoWeeks)} />
          {save}
        </ActionForm>
      </section>
    </Stack>
  );
}
