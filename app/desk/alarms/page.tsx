import type { Metadata } from "next";
import { seeToAlarmAction } from "@/app/desk/alarms/actions";
import { ActionForm } from "@/app/ui/action-form";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { formatDateTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import { alarmsOf } from "@/lib/records/alarms";
import { practiceOf } from "@/lib/records/practice";

export const metadata: Metadata = { title: say("alarms")("title") };

/** What the app itself noticed about the server and its data; each is seen to by hand. */
export default async function AlarmsPage() {
  const t = say("alarms");
  const actor = await signedIn();
  const alarms = await alarmsOf(await grant(actor, "alarms.read", null));
  const { timeZone: zone } = await practiceOf(await grant(actor, "practice.read", null), Date.now());
  const [open, seen] = [alarms.filter((alarm) => alarm.seen === null), alarms.filter((alarm) => alarm.seen !== null)];
  return (
    <Stack gap="large">
      <Heading level={1} lead={t("lead")}>{t("title")}</Heading>
      {open.length === 0 ? <p>{t("none")}</p> : open.map(({ alarmId, kind, raisedAt }) => (
        <Notice key={alarmId} kind="problem" title={t(`kind.${kind}.what`)}>
          <Stack gap="small">
            <p>{t("raised", { when: formatDateTime(raisedAt, zone) })}</p>
            <p>{t(`kind.${kind}.do`)}</p>
            <ActionForm action={seeToAlarmAction} once={crypto.randomUUID()} label={`${t("seeTo")}: ${t(`kind.${kind}.what`)}`}>
              <input type="hidden" name="alarmId" value={alarmId} />
              <SubmitButton kind="quiet" pending={t("saving")}>{t("seeTo")}</SubmitButton>
            </ActionForm>
          </Stack>
        </Notice>
      ))}
      {seen.length === 0 ? null : (
        <section>
          <Heading level={2}>{t("seen")}</Heading>
          <RuledList label={t("seen")}>
            {seen.map(({ alarmId, kind, raisedAt, seen: by }) => (
              <RuledRow key={alarmId}>
                {t("seenRow", { what: t(`kind.${kind}.what`), raised: formatDateTime(raisedAt, zone), who: by?.by ?? "", when: formatDateTime(by?.at ?? 0, zone) })}
              </RuledRow>
            ))}
          </RuledList>
        </section>
      )}
    </Stack>
  );
}
