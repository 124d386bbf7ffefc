import type { Metadata } from "next";
import { askForCodeAction, passkeyAloneAction } from "@/app/(open)/sign-in/actions";
import { DemoPeople } from "@/app/(open)/sign-in/demo-people";
import { PasskeyButton } from "@/app/(open)/sign-in/passkey-button";
import { WaitingHere } from "@/app/(open)/sign-in/waiting-here";
import { SignOutForm } from "@/app/(open)/sign-out-form";
import { ActionForm } from "@/app/ui/action-form";
import { ButtonLink } from "@/app/ui/button";
import { Field } from "@/app/ui/field";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { Row, Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { ownPath } from "@/lib/access/asked";
import { demoPeople } from "@/lib/access/demo";
import { passkeyRequest } from "@/lib/access/passkey";
import { currentActor, readerNow } from "@/lib/access/session";
import { say } from "@/lib/messages/say";

export const generateMetadata = async (): Promise<Metadata> => ({ title: say("auth", await readerNow())("signIn.title") });

export default async function SignInPage({ searchParams }: { readonly searchParams: Promise<{ readonly then?: string | string[] }> }) {
  const reader = await readerNow();
  const t = say("auth", reader);
  const { then: asked } = await searchParams;
  const goTo = ownPath(typeof asked === "string" ? asked : "");
  const [actor, people] = [await currentActor(), demoPeople()];
  return (
    <Stack gap="large">
      {actor ? (
        <Notice kind="info">
          <p>{t("signIn.already", { name: actor.name })}</p>
          <Row><ButtonLink href="/">{t("signIn.goOn")}</ButtonLink><SignOutForm reader={reader} personId={actor.personId} /></Row>
        </Notice>
      ) : null}
      <WaitingHere words={{ one: t("signIn.waitsOne"), more: t("signIn.waits") }} />
      {people.length > 0 ? <DemoPeople people={people} goTo={goTo} reader={reader} /> : null}
      <section>
        <Heading level={people.length > 0 ? 2 : 1} lead={t("signIn.lead")}>{t("signIn.title")}</Heading>
        <Stack gap="large">
          <ActionForm action={askForCodeAction} once={crypto.randomUUID()} label={t("signIn.title")}>
            <input type="hidden" name="goTo" value={goTo} />
            <Field label={t("signIn.email")} name="email" hint={t("signIn.emailHint")} type="email" autoComplete="email" inputMode="email" required maxLength={254} />
            <SubmitButton pending={t("signIn.sending")}>{t("signIn.send")}</SubmitButton>
          </ActionForm>
          <Stack gap="small">
            <PasskeyButton action={passkeyAloneAction} request={await passkeyRequest(null, Date.now())} goTo={goTo}
              words={{ press: t("second.passkeyUse"), waiting: t("second.passkeyWaiting"), failed: t("second.passkeyFailed") }} />
            <p>{t("second.passkeyUseHint")}</p>
          </Stack>
        </Stack>
      </section>
    </Stack>
  );
}
