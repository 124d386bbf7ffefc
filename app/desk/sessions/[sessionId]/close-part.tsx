import { changeSessionAction, closeSessionAction, reopenSessionAction } from "@/app/desk/sessions/actions";
import { WhenFields } from "@/app/desk/sessions/when-fields";
import { ActionForm } from "@/app/ui/action-form";
import { Heading } from "@/app/ui/heading";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { localDate, localOf } from "@/lib/domain/time/local";
import { say } from "@/lib/messages/say";
import type { GroupSession } from "@/lib/records/group-sessions";

/** Another time, and the end of a session, which can be taken back. */
export function ClosePart({ session, zone }: { readonly session: GroupSession; readonly zone: string }) {
  const t = say("sessions");
  const { sessionId, startsAt, howToJoin, version, stage, closedAt } = session;
  const { hour, minute } = localOf(startsAt, zone);
  const two = (n: number): string => String(n).padStart(2, "0");
  const hidden = <input type="hidden" name="sessionId" value={sessionId} />;
  if (closedAt !== null) {
    return (
      <ActionForm action={reopenSessionAction} once={crypto.randomUUID()}>
        {hidden}
        <SubmitButton kind="quiet" pending={t("close.working")}>{t("close.reopen")}</SubmitButton>
      </ActionForm>
    );
  }
  const isToCome = stage === "upcoming";
  return (
    <section>
      <Stack>
        <details>
          <summary>{t("change.title")}</summary>
          <p>{t("change.lead")}</p>
          <ActionForm action={changeSessionAction} once={crypto.randomUUID()} label={t("change.title")} problemWords={{ "words-side-disagree": t("sideWords") }}>
            {hidden}
            <input type="hidden" name="version" value={version} />
            <WhenFields zone={zone} day={localDate(startsAt, zone)} time={`${two(hour)}:${two(minute)}`} howToJoin={howToJoin} />
            <SubmitButton pending={t("change.working")}>{t("change.press")}</SubmitButton>
          </ActionForm>
        </details>
        <Heading level={2} lead={t(isToCome ? "close.callOffLead" : "close.lead")}>{t("close.title")}</Heading>
        <ActionForm action={closeSessionAction} once={crypto.randomUUID()} label={t("close.title")}>
          {hidden}
          <SubmitButton kind="quiet" pending={t("close.working")}>{t(isToCome ? "close.callOff" : "close.press")}</SubmitButton>
        </ActionForm>
      </Stack>
    </section>
  );
}
