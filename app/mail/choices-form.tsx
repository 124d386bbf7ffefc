import { chooseNoticesAction } from "@/app/mail/actions";
import { Phones } from "@/app/mail/phones";
import { ActionForm } from "@/app/ui/action-form";
import { Choice } from "@/app/ui/choice";
import { Field, SelectField } from "@/app/ui/field";
import { Heading } from "@/app/ui/heading";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { isStaff, type Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { zoneNames } from "@/lib/domain/time/zone";
import { say } from "@/lib/messages/say";
import { choicesOf } from "@/lib/records/notice-choices";
import { phonesOf } from "@/lib/records/push-phones";

const clock = (minutes: number): string => `${String(Math.floor(minutes / 60)).padStart(2, "0")}:${String(minutes % 60).padStart(2, "0")}`;

/** Which notices a person gets, where and when; what always comes is said with its reason. The same for both sides. */
export async function ChoicesForm({ actor }: { readonly actor: Actor }) {
  const t = say("notices", actor.reader);
  const granted = await grant(actor, "notices.choose", null);
  const [{ isOn, quiet, timeZone, practiceZone }, phones] = await Promise.all([choicesOf(granted), phonesOf(granted)]);
  const options = [{ value: "on", label: t("choices.on") }, { value: "off", label: t("choices.off") }];
  const staff = isStaff(actor.role);
  const choice = (name: string, legend: string, is: boolean, isAsked: boolean) => (isAsked
    ? <Choice row required name={name} legend={t(legend)} options={options} defaultValue={is ? "on" : "off"} />
    : <input type="hidden" name={name} value={is ? "on" : "off"} />);
  const news = staff ? "choices.newsStaff" : "choices.newsFamily";
  const hasPhones = phones.length > 0;
  return (
    <Stack gap="large">
      <Heading level={1} lead={t("choices.lead")}>{t("choices.title")}</Heading>
      <Phones actor={actor} phones={phones} />
      <ActionForm action={chooseNoticesAction} once={crypto.randomUUID()} label={t("choices.title")} doneWords={t("choices.saved")}>
        <Heading level={2}>{t("choices.byMail")}</Heading>
        {choice("news", news, isOn.mail.news, true)}
        {choice("reminders", "choices.remindersFamily", isOn.mail.reminders, !staff)}
        {hasPhones ? <Heading level={2}>{t("choices.onPhones")}</Heading> : null}
        {choice("newsPush", news, isOn.push.news, hasPhones)}
        {choice("remindersPush", "choices.remindersFamily", isOn.push.reminders, hasPhones && !staff)}
        <Heading level={2}>{t("choices.always")}</Heading>
        <ul>
          <li>{t(staff ? "choices.alwaysAlarmStaff" : "choices.alwaysStopFamily")}</li>
          <li>{t("choices.alwaysCode")}</li>
        </ul>
        <Heading level={2} lead={t("choices.quietLead")}>{t("choices.quiet")}</Heading>
        <Field label={t("choices.from")} name="from" type="time" defaultValue={quiet ? clock(quiet.from) : undefined} />
        <Field label={t("choices.until")} name="until" type="time" defaultValue={quiet ? clock(quiet.until) : undefined} />
        <SelectField label={t("choices.zone")} name="timeZone" defaultValue={timeZone ?? ""}
          options={[{ value: "", label: t("choices.zonePractice", { zone: practiceZone }) }, ...zoneNames().map((name) => ({ value: name, label: name }))]} />
        <SubmitButton pending={t("choices.saving")}>{t("choices.save")}</SubmitButton>
      </ActionForm>
    </Stack>
  );
}
