import type { Metadata } from "next";
import { proveByPasskeyAction, proveByRecoveryCodeAction, proveByTotpAction, proveInDemoAction } from "@/app/desk/account/actions";
import { RecoveryForm, TotpForm } from "@/app/(open)/sign-in/factor-forms";
import { PasskeyButton } from "@/app/(open)/sign-in/passkey-button";
import { ActionForm } from "@/app/ui/action-form";
import { ButtonLink } from "@/app/ui/button";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { demoPerson } from "@/lib/access/demo";
import { grant } from "@/lib/access/grant";
import { passkeyRequest } from "@/lib/access/passkey";
import { signedIn } from "@/lib/access/session";
import { isProofEnough, PROOF_LIFE_MS } from "@/lib/domain/policy/policy";
import { formatTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import { ownSignIn } from "@/lib/records/own-sign-in";

export const metadata: Metadata = { title: say("ownSignIn")("proof.title") };

/** The second step again, for somebody signed in who wants to change what needs it; the form they came from waits in its own tab. */
export default async function ProofPage() {
  const actor = await signedIn();
  const own = await ownSignIn(await grant(actor, "sign-in.read", null));
  const t = say("ownSignIn");
  const auth = say("auth");
  const now = Date.now();
  const words = { press: t("proof.passkey"), waiting: auth("second.passkeyWaiting"), failed: t("passkeys.failed") };
  const isFresh = isProofEnough(actor.provedAt, "sign-in.change", now);
  return (
    <Stack gap="large">
      <Heading level={1} lead={t("proof.lead")}>{t("proof.title")}</Heading>
      {isFresh && actor.provedAt !== null
        ? <Notice kind="done">{t("proof.done", { until: formatTime(actor.provedAt + PROOF_LIFE_MS, actor.timeZone) })}</Notice>
        : (
          <Stack gap="large">
            {own.passkeys.length > 0 ? <PasskeyButton action={proveByPasskeyAction} request={await passkeyRequest(actor.personId, now)} words={words} /> : null}
            {own.hasTotp ? <section><Heading level={2}>{auth("second.totpTitle")}</Heading><TotpForm action={proveByTotpAction} reader={actor.reader} /></section> : null}
            {(own.recovery?.left ?? 0) > 0 ? <RecoveryForm action={proveByRecoveryCodeAction} reader={actor.reader} /> : null}
            {demoPerson(actor.personId) ? (
              <ActionForm action={proveInDemoAction} once={crypto.randomUUID()} label={t("proof.title")}>
                <p>{t("proof.demo")}</p>
                <SubmitButton pending={t("working")}>{t("proof.demoGo")}</SubmitButton>
              </ActionForm>
            ) : null}
          </Stack>
        )}
      <ButtonLink href="/desk/account" kind="quiet">{t("title")}</ButtonLink>
    </Stack>
  );
}
