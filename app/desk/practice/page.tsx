import { AlarmsNotice } from "@/app/desk/alarms/alarms-notice";
import { StaffPart } from "@/app/desk/people/staff-part";
import { DAYS, dayText, spansText } from "@/app/desk/practice/hours";
import { LeadForms } from "@/app/desk/practice/lead-forms";
import { UpkeepPart } from "@/app/desk/practice/upkeep-part";
import { ButtonLink } from "@/app/ui/button";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { DefinitionRows, RuledList, RuledRow } from "@/app/ui/ruled";
import { Row, Stack } from "@/app/ui/stack";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { may } from "@/lib/domain/policy/policy";
import { formatDate, formatLocalDate } from "@/lib/domain/time/format";
import { ZONE_DATA_VERSION } from "@/lib/domain/time/zone";
import { PROMISED } from "@/lib/domain/time/working-week";
import { say } from "@/lib/messages/say";
import { openingsOf } from "@/lib/records/extra-openings";
import { practiceOf } from "@/lib/records/practice";
import { isRetentionHeld } from "@/lib/records/retention";

/** Hours, promise, closures and settings: all staff read them, the lead changes them. */
export default async function PracticePage() {
  const t = say("desk");
  const actor = await signedIn();
  const now = Date.now();
  const practice = await practiceOf(await grant(actor, "practice.read", null), now);
  const openings = await openingsOf(await grant(actor, "practice.read", null), now);
  const { hours } = practice;
  return (
    <Stack gap="large">
      <Heading level={1} lead={practice.name}>{t("practice.title")}</Heading>
      <Row><ButtonLink href="/desk/exercises" kind="quiet">{say("exercises")("list")}</ButtonLink><ButtonLink href="/desk/cues" kind="quiet">{say("cues")("link")}</ButtonLink><ButtonLink href="/desk/mail" kind="quiet">{say("notices")("choices.link")}</ButtonLink>{may(actor.role, "erasures.read") ? <ButtonLink href="/desk/erasures" kind="quiet">{say("erasures")("link")}</ButtonLink> : null}{may(actor.role, "alarms.read") ? <ButtonLink href="/desk/alarms" kind="quiet">{say("alarms")("title")}</ButtonLink> : null}</Row>
      <AlarmsNotice actor={actor} />
      {may(actor.role, "erasures.read") ? <HeldNotice actor={actor} now={now} /> : null}
      <section>
        <Heading level={2} {...(hours ? { lead: t("practice.hoursNow", { date: formatDate(hours.effectiveFrom, practice.timeZone) }) } : {})}>{t("practice.hours")}</Heading>
        {hours ? (
          <DefinitionRows rows={[
            ...DAYS.map((day) => ({ term: t(`practice.day.${day}`), value: dayText(hours.week, day) || t("practice.closed") })),
            ...PROMISED.map((kind) => ({ term: t(`practice.promiseNow.${kind}`), value: t("practice.promiseHours", { hours: hours.promiseMinutes[kind] / 60 }) })),
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
      <section>
        <Heading level={2}>{t("practice.openings")}</Heading>
        {openings.length === 0 ? <p>{t("practice.openingsNone")}</p> : (
          <RuledList label={t("practice.openings")}>
            {openings.map((opening) => <RuledRow key={opening.id}>{formatLocalDate(opening.day)}: {spansText(opening.spans)}</RuledRow>)}
          </RuledList>
        )}
      </section>
      <DefinitionRows rows={[
        { term: t("practice.phone"), value: practice.phone || t("practice.phoneNone") },
        { term: t("practice.zone"), value: `${practice.timeZone}. ${t("practice.zoneData", { version: ZONE_DATA_VERSION })}` },
        { term: t("practice.photoWeeks"), value: t("practice.weeks", { n: practice.photoWeeks }) },
        { term: say("stops")("hours"), value: say("stops")("hoursIs", { n: practice.readBackHours }) },
        { term: say("erasures")("retention.months"), value: say("erasures")("retention.monthsIs", { n: practice.retentionMonths }) },
        { term: t("practice.storage"), value: t("practice.storageIs", { n: practice.familyMegabytes }) },
        { term: say("auth")("people.ages.own"), value: say("auth")("people.ages.years", { n: practice.ages.ownSignInAge }) },
        { term: say("auth")("people.ages.adult"), value: say("auth")("people.ages.years", { n: practice.ages.adultAge }) },
      ]} />
      {may(actor.role, "practice.settings") ? <UpkeepPart actor={actor} zone={practice.timeZone} now={now} /> : null}
      {may(actor.role, "staff.manage") ? <StaffPart actor={actor} /> : null}
      {may(actor.role, "practice.settings") ? <LeadForms practice={practice} openings={openings} /> : <p>{t("practice.leadOnly")}</p>}
    </Stack>
  );
}

async function HeldNotice({ actor, now }: { readonly actor: Actor; readonly now: number }) {
  return await isRetentionHeld(await grant(actor, "erasures.read", null), now)
    ? <Notice kind="caution"><p>{say("erasures")("heldLink")}</p><ButtonLink href="/desk/erasures" kind="quiet">{say("erasures")("link")}</ButtonLink></Notice> : null;
}
