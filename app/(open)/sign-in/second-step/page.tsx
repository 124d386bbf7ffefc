import type { Metadata } from "next";
import { newPasskeyAction, passkeyAction, recoveryCodeAction, totpAction } from "@/app/(open)/sign-in/actions";
import { PasskeyButton } from "@/app/(open)/sign-in/passkey-button";
import { RecoveryForm, TotpForm } from "@/app/(open)/sign-in/factor-forms";
import { TotpSetup } from "@/app/(open)/sign-in/second-step/totp-setup";
import { ButtonLink } from "@/app/ui/button";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { Stack } from "@/app/ui/stack";
import { readCookie } from "@/lib/access/cookies";
import { passkeyOffer, passkeyRequest } from "@/lib/access/passkey";
import { secondStepOf, type SecondStep } from "@/lib/access/second-factor";
import { readerNow } from "@/lib/access/session";
import type { Reader } from "@/lib/domain/words/reader";
import { say } from "@/lib/messages/say";

export const generateMetadata = async (): Promise<Metadata> => ({ title: say("auth", await readerNow())("second.title") });

/** Between the two proofs of a member of staff: shows what they have, or sets it up behind an invitation. */
export default async function SecondStepPage() {
  const reader = await readerNow();
  const t = say("auth", reader);
  const token = await readCookie("second-step");
  const step = token ? secondStepOf(token, Date.now()) : null;
  if (!step) return <Over reader={reader}>{say("problems", reader)("second-step-over")}</Over>;
  if (!step.hasPasskey && !step.hasTotp && step.newSecret === null) return <Over reader={reader}>{say("problems", reader)("second-factor-missing")}</Over>;
  const isNew = step.newSecret !== null;
  return (
    <Stack gap="large">
      <Heading level={1} lead={t(isNew ? "second.setUpLead" : "second.lead")}>{t(isNew ? "second.setUpTitle" : "second.title")}</Heading>
      {isNew || step.hasPasskey ? <Passkey step={step} isNew={isNew} reader={reader} /> : null}
      {isNew || step.hasTotp ? (
        <section>
          <Heading level={2}>{t("second.totpTitle")}</Heading>
          {step.isTotpClosed ? <Notice kind="caution">{t("second.totpClosed")}</Notice> : (
            <Stack>
              {step.newSecret !== null ? <TotpSetup secret={step.newSecret} label={step.email} reader={reader} /> : null}
              <TotpForm action={totpAction} reader={reader} />
            </Stack>
          )}
        </section>
      ) : null}
      {step.recoveryLeft > 0 && !isNew ? <RecoveryForm action={recoveryCodeAction} reader={reader} /> : null}
    </Stack>
  );
}

async function Passkey({ step, isNew, reader }: { readonly step: SecondStep; readonly isNew: boolean; readonly reader: Reader }) {
  const t = say("auth", reader);
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

function Over({ reader, children }: { readonly reader: Reader; readonly children: string }) {
  const t = say("auth", reader);
  return (
    <Stack gap="large">
      <Heading level={1}>{t("second.title")}</Heading>
      <Notice kind="problem">{children}</Notice>
      <ButtonLink href="/sign-in">{t("second.startAgain")}</ButtonLink>
    </Stack>
  );
}
