import type { Metadata } from "next";
import { newPasskeyAction, passkeyAction, totpAction } from "@/app/(open)/sign-in/actions";
import { PasskeyButton } from "@/app/(open)/sign-in/passkey-button";
import { TotpSetup } from "@/app/(open)/sign-in/second-step/totp-setup";
import { problemWords, SECOND_PROBLEMS } from "@/app/(open)/words";
import { ActionForm } from "@/app/ui/action-form";
import { ButtonLink } from "@/app/ui/button";
import { Field } from "@/app/ui/field";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { readCookie } from "@/lib/access/cookies";
import { passkeyOffer, passkeyRequest } from "@/lib/access/passkey";
import { secondStepOf, type SecondStep } from "@/lib/access/second-factor";
import { say } from "@/lib/messages/say";

export const metadata: Metadata = { title: say("auth")("second.title") };

/** Between the two proofs of a member of staff: shows what they have, or sets it up behind an invitation. */
export default async function SecondStepPage() {
  const t = say("auth");
  const token = await readCookie("second-step");
  const step = token ? secondStepOf(token, Date.now()) : null;
  if (!step) return <Over>{say("problems")("second-step-over")}</Over>;
  if (!step.hasPasskey && !step.hasTotp && step.newSecret === null) return <Over>{say("problems")("second-factor-missing")}</Over>;
  const isNew = step.newSecret !== null;
  return (
    <Stack gap="large">
      <Heading level={1} lead={t(isNew ? "second.setUpLead" : "second.lead")}>{t(isNew ? "second.setUpTitle" : "second.title")}</Heading>
      {isNew || step.hasPasskey ? <Passkey step={step} isNew={isNew} /> : null}
      {isNew || step.hasTotp ? (
        <section>
          <Heading level={2}>{t("second.totpTitle")}</Heading>
          <Stack>
            {step.newSecret !== null ? <TotpSetup secret={step.newSecret} label={step.email} /> : null}
            <ActionForm action={totpAction} once={crypto.randomUUID()} problemWords={problemWords(SECOND_PROBLEMS)} label={t("second.totpTitle")}>
              <Field label={t("second.totpCode")} name="code" hint={t("second.totpHint")} autoComplete="one-time-code" inputMode="numeric" required maxLength={40} />
              <SubmitButton pending={t("second.going")}>{t("second.go")}</SubmitButton>
            </ActionForm>
          </Stack>
        </section>
      ) : null}
    </Stack>
  );
}

async function Passkey({ step, isNew }: { readonly step: SecondStep; readonly isNew: boolean }) {
  const t = say("auth");
  const now = Date.now();
  const words = { press: t(isNew ? "second.passkeyMake" : "second.passkeyUse"), waiting: t("second.passkeyWaiting"), failed: t("second.passkeyFailed") };
  return (
    <section>
      <Heading level={2} {...(isNew ? { lead: t("second.passkeyMakeHint") } : {})}>{t("second.passkeyTitle")}</Heading>
      {isNew
        ? <PasskeyButton action={newPasskeyAction} offer={await passkeyOffer({ id: step.personId, email: step.email, name: step.name }, now)} words={words} />
        : <PasskeyButton action={passkeyAction} request={await passkeyRequest(step.personId, now)} words={words} />}
    </section>
  );
}

function Over({ children }: { readonly children: string }) {
  const t = say("auth");
  return (
    <Stack gap="large">
      <Heading level={1}>{t("second.title")}</Heading>
      <Notice kind="problem">{children}</Notice>
      <ButtonLink href="/sign-in">{t("second.startAgain")}</ButtonLink>
    </Stack>
  );
}
