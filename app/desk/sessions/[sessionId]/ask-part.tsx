import { askForPhotosAction, remindOfSessionAction } from "@/app/desk/sessions/actions";
import { ActionForm } from "@/app/ui/action-form";
import { CheckGroup, CheckRow } from "@/app/ui/choice";
import { Field } from "@/app/ui/field";
import { Heading } from "@/app/ui/heading";
import { SubmitButton } from "@/app/ui/submit-button";
import { addDays, localDate } from "@/lib/domain/time/local";
import { say } from "@/lib/messages/say";
import type { GroupSession } from "@/lib/records/group-sessions";
import { mayBeAsked, type ReminderState, type SessionChild } from "@/lib/records/session-photos";

/** Days from the session, or from today, that are offered first. Common practice, no source. */
const OFFERED_DAYS = 7;

/** Asks everyone or some for a photo by a day, and reminds whoever has not sent. */
export function AskPart({ session: { sessionId, startsAt }, rows, reminder, zone, now }: {
  readonly session: GroupSession;
  readonly rows: readonly SessionChild[];
  readonly reminder: ReminderState;
  readonly zone: string;
  readonly now: number;
}) {
  const t = say("sessions");
  const open = rows.filter(mayBeAsked);
  const today = localDate(now, zone);
  return (
    <>
      <section>
        <Heading level={2}>{t("ask.title")}</Heading>
        {open.length === 0 ? <p>{t("ask.nobody")}</p> : (
          <ActionForm action={askForPhotosAction} once={crypto.randomUUID()} label={t("ask.title")}>
            <input type="hidden" name="sessionId" value={sessionId} />
            <CheckGroup legend={t("ask.who")} hint={t("ask.whoHint")}>
              {open.map(({ placeId, childName, familyName }) => <CheckRow key={placeId} label={`${childName} · ${familyName}`} name="placeIds" value={placeId} defaultChecked />)}
            </CheckGroup>
            <Field label={t("ask.due")} name="dueOn" type="date" required min={today} defaultValue={addDays(localDate(Math.max(now, startsAt), zone), OFFERED_DAYS)} />
            <SubmitButton pending={t("ask.working")}>{t("ask.press")}</SubmitButton>
          </ActionForm>
        )}
      </section>
      {rows.some(({ ask }) => ask !== null) ? (
        <section>
          <Heading level={2} lead={t("remind.lead")}>{t("remind.title")}</Heading>
          {reminder === "due" ? (
            <ActionForm action={remindOfSessionAction} once={crypto.randomUUID()} label={t("remind.title")}>
              <input type="hidden" name="sessionId" value={sessionId} />
              <SubmitButton kind="quiet" pending={t("remind.working")}>{t("remind.press")}</SubmitButton>
            </ActionForm>
          ) : <p>{t(`remind.${reminder}`)}</p>}
        </section>
      ) : null}
    </>
  );
}
