import { disablePersonAction, enablePersonAction, inviteStaffAction, resetFactorAction } from "@/app/desk/people/actions";
import { ActionForm } from "@/app/ui/action-form";
import { Field } from "@/app/ui/field";
import { Heading } from "@/app/ui/heading";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { say } from "@/lib/messages/say";
import { listStaff } from "@/lib/records/people";

/** For the practice lead: who works here, who may sign in, and the form to invite a therapist. */
export async function StaffPart({ actor }: { readonly actor: Actor }) {
  const t = say("auth");
  const staff = await listStaff(await grant(actor, "staff.manage", null));
  return (
    <section>
      <Heading level={2}>{t("people.staff")}</Heading>
      <Stack>
        <RuledList label={t("people.staff")}>
          {staff.map(({ personId, name, email, role, isDisabled, isSetUp }) => (
            <RuledRow key={personId}>
              <Stack gap="small">
                <p><strong>{name}</strong> · {t("people.role", { role })} · {t("people.state", { state: isDisabled ? "disabled" : isSetUp ? "ready" : "waiting" })}</p>
                <p>{email}</p>
                {personId === actor.personId ? null : (
                  <ActionForm action={isDisabled ? enablePersonAction : disablePersonAction} once={crypto.randomUUID()}>
                    <input type="hidden" name="personId" value={personId} />
                    <SubmitButton kind="quiet" pending={t("people.changing")}>{t(isDisabled ? "people.enable" : "people.disable", { name })}</SubmitButton>
                  </ActionForm>
                )}
                {isSetUp && !isDisabled && personId !== actor.personId ? (
                  <details>
                    <summary>{t("people.reset", { name })}</summary>
                    <ActionForm action={resetFactorAction} once={crypto.randomUUID()} label={t("people.reset", { name })}>
                      <input type="hidden" name="personId" value={personId} />
                      <p>{t("people.resetWhat", { name })}</p>
                      <SubmitButton kind="quiet" pending={t("people.changing")}>{t("people.resetGo", { name })}</SubmitButton>
                    </ActionForm>
                  </details>
                ) : null}
              </Stack>
            </RuledRow>
          ))}
        </RuledList>
        <Heading level={3}>{t("people.staffInvite")}</Heading>
        <ActionForm action={inviteStaffAction} once={crypto.randomUUID()} label={t("people.staffInvite")}>
          <Field label={t("people.name")} name="name" required maxLength={80} autoComplete="off" />
          <Field label={t("people.email")} name="email" type="email" inputMode="email" required maxLength={254} autoComplete="off" />
          <SubmitButton pending={t("people.sending")}>{t("people.send")}</SubmitButton>
        </ActionForm>
      </Stack>
    </section>
  );
}
