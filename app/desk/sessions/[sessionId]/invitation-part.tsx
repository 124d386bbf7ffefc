import { makeInvitationAction, revokeInvitationAction } from "@/app/desk/sessions/actions";
import { ActionForm } from "@/app/ui/action-form";
import { ButtonLink } from "@/app/ui/button";
import { CopyButton } from "@/app/ui/copy-button";
import { Field, SelectField } from "@/app/ui/field";
import { Heading } from "@/app/ui/heading";
import { QrCode } from "@/app/ui/qr-code";
import { Row, Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { formatDateTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import { INVITATION_DAYS, type SessionInvitation } from "@/lib/records/session-invitations";

/** The session invitation as a link and a code, until when it works, and the ways to withdraw or renew it. */
export function InvitationPart({ sessionId, invitation, zone }: { readonly sessionId: string; readonly invitation: SessionInvitation | null; readonly zone: string }) {
  const t = say("sessions");
  const hidden = <input type="hidden" name="sessionId" value={sessionId} />;
  return (
    <section>
      <Heading level={2} lead={t("invitation.lead")}>{t("invitation.title")}</Heading>
      <Stack>
        {invitation ? (
          <>
            <Field label={t("invitation.address", { until: formatDateTime(invitation.expiresAt, zone) })} name="address" defaultValue={invitation.address} />
            <CopyButton text={invitation.address} words={{ copy: t("invitation.copy"), copied: t("invitation.copied"), failed: t("invitation.copyFailed") }} />
            <QrCode text={invitation.address} words={t("invitation.code")} />
            <Row><ButtonLink kind="quiet" href={`/desk/sessions/${sessionId}/invitation`}>{t("invitation.sheet")}</ButtonLink></Row>
            <ActionForm action={revokeInvitationAction} once={crypto.randomUUID()}>
              {hidden}
              <input type="hidden" name="invitationId" value={invitation.invitationId} />
              <SubmitButton kind="quiet" pending={t("invitation.revoking")}>{t("invitation.revoke")}</SubmitButton>
            </ActionForm>
          </>
        ) : <p>{t("invitation.none")}</p>}
        <ActionForm action={makeInvitationAction} once={crypto.randomUUID()} label={t("invitation.title")}>
          {hidden}
          <SelectField label={t("invitation.days")} name="days" defaultValue="7" options={INVITATION_DAYS.map((days) => ({ value: String(days), label: t("invitation.daysIs", { days }) }))} />
          <SubmitButton kind={invitation ? "quiet" : "primary"} pending={t("invitation.making")}>{t(invitation ? "invitation.again" : "invitation.make")}</SubmitButton>
        </ActionForm>
      </Stack>
    </section>
  );
}
