import { StaffPart } from "@/app/desk/people/staff-part";
import { DAYS, dayText } from "@/app/desk/practice/hours";
import { LeadForms } from "@/app/desk/practice/lead-forms";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { DefinitionRows, RuledList, RuledRow } from "@/app/ui/ruled";
import { Stack } from "@/app/ui/stack";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { may } from "@/lib/domain/policy/policy";
import { formatDate, formatLocalDate } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import { practiceOf } from "@/lib/records/practice";

/** Hours, promise, closures and settings: all staff read them, the lead changes them. */
export default async function PracticePage() {
  const t = say("desk");
  const actor = await signedIn();
  const practice = await practiceOf(await grant(actor, "practice.read", null), Date.now());
  const { hours } = practice;
  return (
    <Stack gap="large">
      <Heading level={1} lead={practice.name}>{t("practice.title")}</Heading>
      <section>
        <Heading level={2} {...(hours ? { lead: t("practice.hoursNow", { date: formatDate(hours.effectiveFrom, practice.timeZone) }) } : {})}>{t("practice.hours")}</Heading>
        {hours ? (
          <DefinitionRows rows={[
            ...DAYS.map((day) => ({ term: t(`practice.day.${day}`), value: dayText(hours.week, day) || t("practice.closed") })),
            { term: t("practice.promiseNow"), value: t("practice.promiseHours", { hours: hours.promiseMinutes / 60 }) },
          ]} />
        ) : <Notice kind="caution">{t("practice.hoursNone")}</Notice>}
      </section>
      <section>
        <Heading level={2}>{t("practice.closures")}</Heading>
        {practice.closures.length === 0 ? <p>{t("practice.closuresNone")}</p> : (
          <RuledList label={t("practice.closures")}>
            {practice.closures.map((closure) => <RuledRow key={closure.id}>{formatLocalDate(closure.day)}: {closure.label}</RuledRow>)}
          </RuledList>
        )}
      </section>
      <DefinitionRows rows={[
        { term: t("practice.zone"), value: practice.timeZone },
        { term: t("practice.photoWeeks"), value: t("practice.weeks", { n: practice.photoWeeks }) },
      ]} />
      {may(actor.role, "staff.manage") ? <StaffPart actor={actor} /> : null}
      {may(actor.role, "practice.settings") ? <LeadForms practice={practice} /> : <p>{t("practice.leadOnly")}</p>}
    </Stack>
  );
}
