import { addClosureAction, addOpeningAction, removeClosureAction, removeOpeningAction, setHoursAction, setPracticeAction } from "@/app/desk/practice/actions";
import { DAYS, dayText, PROMISE_FIELDS, promiseText, spansText } from "@/app/desk/practice/hours";
import { ActionForm } from "@/app/ui/action-form";
import { Field, SelectField } from "@/app/ui/field";
import { Heading } from "@/app/ui/heading";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { RETENTION_MONTHS } from "@/lib/domain/retention/retention";
import { formatLocalDate } from "@/lib/domain/time/format";
import { PROMISED } from "@/lib/domain/time/working-week";
import { zoneNames } from "@/lib/domain/time/zone";
import { FAMILY_MEGABYTES } from "@/lib/domain/upkeep/family-storage";
import { say } from "@/lib/messages/say";
import type { PlannedOpening } from "@/lib/records/extra-openings";
import type { PracticeView } from "@/lib/records/practice";

/** What only the practice lead changes; the grants refuse it to anyone else. */
export function LeadForms({ practice, openings }: { readonly practice: PracticeView; readonly openings: readonly PlannedOpening[] }) {
  const t = say("desk");
  const auth = say("auth");
  const save = <SubmitButton pending={t("practice.working")}>{t("practice.save")}</SubmitButton>;
  return (
    <Stack gap="large">
      <section>
        <Heading level={2} lead={t("practice.hoursHint")}>{t("practice.hours")}</Heading>
        <ActionForm action={setHoursAction} once={crypto.randomUUID()} label={t("practice.hours")}
          problemWords={{ "form-invalid": t("practice.hoursWrong") }}>
          {DAYS.map((day) => (
            <Field key={day} label={t(`practice.day.${day}`)} name={`day-${day}`} defaultValue={dayText(practice.hours?.week ?? null, day)} maxLength={200} autoComplete="off" />
          ))}
          {PROMISED.map((kind) => (
            <Field key={kind} label={t(`practice.promise.${kind}`)} name={PROMISE_FIELDS[kind]} inputMode="decimal" required maxLength={6}
              {...(kind === "symptom" ? { hint: t("practice.promiseSymptomHint") } : {})}
              defaultValue={practice.hours ? promiseText(practice.hours.promiseMinutes[kind]) : undefined} />
          ))}
          {save}
        </ActionForm>
      </section>
      <section>
        <Heading level={2}>{t("practice.closureAdd")}</Heading>
        <ActionForm action={addClosureAction} once={crypto.randomUUID()} label={t("practice.closureAdd")}
          problemWords={{ "dates-disagree": t("practice.closurePast") }}>
          <Field label={t("practice.closureDay")} name="day" type="date" required />
          <Field label={t("practice.closureLabel")} name="label" required maxLength={80} />
          <SubmitButton pending={t("practice.working")}>{t("practice.closureAdd")}</SubmitButton>
        </ActionForm>
        {practice.closures.map((closure) => (
          <ActionForm key={closure.id} action={removeClosureAction} once={crypto.randomUUID()}>
            <input type="hidden" name="id" value={closure.id} />
            <SubmitButton kind="quiet" pending={t("practice.working")}>{t("practice.closureRemoveOf", { day: formatLocalDate(closure.day) })}</SubmitButton>
          </ActionForm>
        ))}
      </section>
      <section>
        <Heading level={2} lead={t("practice.openingHint")}>{t("practice.openingAdd")}</Heading>
        <ActionForm action={addOpeningAction} once={crypto.randomUUID()} label={t("practice.openingAdd")}
          problemWords={{ "dates-disagree": t("practice.openingPast"), "form-invalid": t("practice.openingWrong") }}>
          <Field label={t("practice.openingDay")} name="day" type="date" required />
          <Field label={t("practice.openingSpans")} hint={t("practice.openingSpansHint")} name="spans" required maxLength={200} autoComplete="off" />
          <SubmitButton pending={t("practice.working")}>{t("practice.openingAdd")}</SubmitButton>
        </ActionForm>
        {openings.map((opening) => (
          <ActionForm key={opening.id} action={removeOpeningAction} once={crypto.randomUUID()}>
            <input type="hidden" name="id" value={opening.id} />
            <SubmitButton kind="quiet" pending={t("practice.working")}>{t("practice.openingRemoveOf", { day: formatLocalDate(opening.day), spans: spansText(opening.spans) })}</SubmitButton>
          </ActionForm>
        ))}
      </section>
      <section>
        <Heading level={2}>{t("practice.settings")}</Heading>
        <ActionForm action={setPracticeAction} once={crypto.randomUUID()} label={t("practice.settings")}>
          <input type="hidden" name="version" value={practice.version} />
          <Field label={t("practice.name")} name="name" required maxLength={80} defaultValue={practice.name} />
          <Field label={t("practice.phone")} hint={t("practice.phoneHint")} name="phone" type="tel" maxLength={40} defaultValue={practice.phone} />
          <SelectField label={t("practice.zone")} name="timeZone" defaultValue={practice.timeZone} options={zoneNames().map((name) => ({ value: name, label: name }))} />
          <Field label={t("practice.photoWeeks")} name="photoWeeks" type="number" min="1" max="52" required defaultValue={String(practice.photoWeeks)} />
          <Field label={say("stops")("hours")} name="readBackHours" type="number" min="1" max="168" required defaultValue={String(practice.readBackHours)} />
          <Field label={say("erasures")("retention.months")} hint={say("erasures")("retention.monthsHint", RETENTION_MONTHS)} name="retentionMonths" type="number"
            min={String(RETENTION_MONTHS.least)} max={String(RETENTION_MONTHS.most)} required defaultValue={String(practice.retentionMonths)} />
          <Field label={t("practice.storage")} hint={t("practice.storageHint", FAMILY_MEGABYTES)} name="familyMegabytes" type="number"
            min={String(FAMILY_MEGABYTES.least)} max={String(FAMILY_MEGABYTES.most)} required defaultValue={String(practice.familyMegabytes)} />
          <Field label={auth("people.ages.own")} hint={auth("people.ages.ownHint")} name="ownSignInAge" type="number" min="10" max="21" required defaultValue={String(practice.ages.ownSignInAge)} />
          <Field label={auth("people.ages.adult")} hint={auth("people.ages.adultHint")} name="adultAge" type="number" min="14" max="21" required defaultValue={String(practice.ages.adultAge)} />
          {save}
        </ActionForm>
      </section>
    </Stack>
  );
}
