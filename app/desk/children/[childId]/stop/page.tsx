import Link from "next/link";
import { liftStopAction, placeStopAction } from "@/app/desk/children/[childId]/stop/actions";
import { ActionForm } from "@/app/ui/action-form";
import { CheckRow, Choice } from "@/app/ui/choice";
import { TextArea } from "@/app/ui/field";
import { Heading } from "@/app/ui/heading";
import { Caution } from "@/app/ui/notice";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { formatDateTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import { childOf } from "@/lib/records/families";
import { personName, standingsOf } from "@/lib/records/standing";
import { openStaffStops } from "@/lib/records/stops";

/** A stop that needs no photo, and the lifting of one with its reason. */
export default async function StopPage({ params }: { readonly params: Promise<{ readonly childId: string }> }) {
  const t = say("desk");
  const actor = await signedIn();
  const { childId } = await params;
  const granted = await grant(actor, "stop.place", childId);
  const reading = await grant(actor, "child.read", childId);
  const child = await childOf(reading);
  const stops = await openStaffStops(granted);
  return (
    <Stack gap="large">
      <Link href={`/desk/children/${childId}`} prefetch={false}>{t("acts.toChild", { child: child.givenName })}</Link>
      <Heading level={1} lead={t("acts.stopLead")}>{`${t("acts.stopTitle")}: ${child.givenName}`}</Heading>
      <ActionForm action={placeStopAction} once={crypto.randomUUID()} childId={childId} label={t("acts.stopTitle")}>
        <Choice legend={t("acts.stopWhich")} name="exerciseKey" required options={[
          { value: "all", label: t("acts.stopAll") },
          ...(await standingsOf(reading, Date.now())).map(({ exerciseKey, names }) => ({ value: exerciseKey, label: names.title })),
        ]} />
        <TextArea label={t("acts.stopReason")} name="reason" required maxLength={500} />
        <TextArea label={t("answering.sideReason")} name="sideReason" rows={2} maxLength={500} />
        <CheckRow label={t("answering.wordsConfirmed")} name="wordsConfirmed" />
        <Caution>{t("answering.caution")}</Caution>
        <SubmitButton kind="stop" pending={t("acts.working")}>{t("acts.stopSend")}</SubmitButton>
      </ActionForm>
      <section>
        <Heading level={2}>{t("acts.open")}</Heading>
        {stops.length === 0 ? <p>{t("acts.noOpen")}</p> : (
          <RuledList label={t("acts.open")}>
            {stops.map((stop) => (
              <RuledRow key={stop.id}>
                <Stack gap="small">
                  <p><strong>{stop.reason}</strong></p>
                  <p>{t("acts.placed", { when: formatDateTime(stop.placedAt, actor.timeZone), who: personName(actor.practiceId, stop.placedBy) ?? "" })}</p>
                  <ActionForm action={liftStopAction} once={crypto.randomUUID()} childId={childId} label={t("acts.lift")}>
                    <input type="hidden" name="stopId" value={stop.id} />
                    <TextArea label={t("acts.liftReason")} name="reason" rows={2} required maxLength={500} />
                    <SubmitButton kind="quiet" pending={t("acts.working")}>{t("acts.lift")}</SubmitButton>
                  </ActionForm>
                </Stack>
              </RuledRow>
            ))}
          </RuledList>
        )}
      </section>
    </Stack>
  );
}
