import type { Metadata } from "next";
import styles from "@/app/desk/account/app/app.module.css";
import { moveAppAction } from "@/app/desk/account/actions";
import { TotpSetup } from "@/app/(open)/sign-in/second-step/totp-setup";
import { ActionForm } from "@/app/ui/action-form";
import { ButtonLink } from "@/app/ui/button";
import { Field } from "@/app/ui/field";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { isProofEnough } from "@/lib/domain/policy/policy";
import { say } from "@/lib/messages/say";
import { newApp, ownSignIn } from "@/lib/records/own-sign-in";

export const metadata: Metadata = { title: say("ownSignIn")("app.title") };

/** Another authenticator app in the place of the one before, or the first beside a passkey. The secret is shown only to who has just proved who they are. */
export default async function AppPage() {
  const t = say("ownSignIn");
  const actor = await signedIn();
  const now = Date.now();
  const own = await grant(actor, "sign-in.read", null);
  const { email, hasTotp } = await ownSignIn(own);
  const isFresh = isProofEnough(actor.provedAt, "sign-in.change", now);
  const app = isFresh ? await newApp(own, now) : null;
  return (
    <Stack gap="large">
      <Heading level={1} lead={t(hasTotp ? "app.lead" : "app.leadFirst")}>{t("app.title")}</Heading>
      {app === null ? (
        <Notice kind="info"><p>{t("proofFirst")}</p><ButtonLink href="/desk/account/proof" kind="quiet">{t("toProof")}</ButtonLink></Notice>
      ) : (
        <>
          <div className={styles.narrow}><TotpSetup secret={app.secret} label={email} reader={actor.reader} /></div>
          <ActionForm action={moveAppAction} once={crypto.randomUUID()} label={t("app.take")}>
            <input type="hidden" name="sealed" value={app.sealed} />
            <Field label={t("app.code")} name="code" autoComplete="one-time-code" inputMode="numeric" required maxLength={40} />
            <SubmitButton pending={t("working")}>{t("app.take")}</SubmitButton>
          </ActionForm>
        </>
      )}
      <p><ButtonLink href="/desk/account" kind="quiet">{t("app.back")}</ButtonLink></p>
    </Stack>
  );
}
