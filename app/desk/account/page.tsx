import type { Metadata } from "next";
import { addPasskeyAction, removePasskeyAction, renewCodesAction } from "@/app/desk/account/actions";
import { DeviceList } from "@/app/devices/device-list";
import { PasskeyButton } from "@/app/(open)/sign-in/passkey-button";
import { ActionForm } from "@/app/ui/action-form";
import { ButtonLink } from "@/app/ui/button";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { passkeyOffer } from "@/lib/access/passkey";
import { signedIn } from "@/lib/access/session";
import { isProofEnough } from "@/lib/domain/policy/policy";
import { formatDateTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import { ownSignIn, type OwnSignIn } from "@/lib/records/own-sign-in";

export const metadata: Metadata = { title: say("ownSignIn")("title") };

/** Below this a new set is due; ours. */
const FEW_CODES = 3;

/** With what a member of staff signs in, and what they do before and after a device is lost. */
export default async function AccountPage() {
  const actor = await signedIn();
  const own = await ownSignIn(await grant(actor, "sign-in.read", null));
  const t = say("ownSignIn");
  const isFresh = isProofEnough(actor.provedAt, "sign-in.change", Date.now());
  return (
    <Stack gap="large">
      <Heading level={1} lead={actor.name}>{t("title")}</Heading>
      {isFresh ? null : (
        <Notice kind="info">
          <p>{t("proofFirst")}</p>
          <ButtonLink href="/desk/account/proof" kind="quiet">{t("toProof")}</ButtonLink>
        </Notice>
      )}
      <Codes own={own} actor={actor} />
      <Passkeys own={own} actor={actor} />
      <section>
        <Heading level={2}>{t("totp")}</Heading>
        <Stack gap="small">
          <p>{t(own.hasTotp ? "totpYes" : "totpNo")}</p>
          <p><ButtonLink href="/desk/account/app" kind="quiet">{t(own.hasTotp ? "app.link" : "app.linkFirst")}</ButtonLink></p>
        </Stack>
      </section>
      <section>
        <Heading level={2}>{say("address")("now")}</Heading>
        <Stack gap="small">
          <p>{own.email}</p>
          <p><ButtonLink href="/desk/account/address" kind="quiet">{say("address")("title")}</ButtonLink></p>
        </Stack>
      </section>
      <DeviceList actor={actor} />
    </Stack>
  );
}

function Codes({ own: { recovery }, actor }: { readonly own: OwnSignIn; readonly actor: Actor }) {
  const t = say("ownSignIn");
  return (
    <section>
      <Heading level={2} lead={t("codes.lead")}>{t("codes.title")}</Heading>
      <Stack>
        {recovery ? <p>{t("codes.left", { n: recovery.left, made: formatDateTime(recovery.madeAt, actor.timeZone) })}</p> : null}
        {(recovery?.left ?? 0) < FEW_CODES ? <Notice kind="caution">{t(recovery ? "codes.few" : "codes.none")}</Notice> : null}
        <ActionForm action={renewCodesAction} once={crypto.randomUUID()} label={t("codes.title")}>
          <SubmitButton kind="quiet" pending={t("working")}>{t("codes.make")}</SubmitButton>
        </ActionForm>
      </Stack>
    </section>
  );
}

async function Passkeys({ own: { passkeys, email }, actor }: { readonly own: OwnSignIn; readonly actor: Actor }) {
  const t = say("ownSignIn");
  const offer = await passkeyOffer({ id: actor.personId, email, name: actor.name }, Date.now());
  return (
    <section>
      <Heading level={2} lead={t("passkeys.lead")}>{t("passkeys.title")}</Heading>
      <Stack>
        {passkeys.length === 0 ? <p>{t("passkeys.none")}</p> : (
          <RuledList label={t("passkeys.title")}>
            {passkeys.map(({ passkeyId, createdAt, lastUsedAt }) => {
              const made = formatDateTime(createdAt, actor.timeZone);
              return (
                <RuledRow key={passkeyId}>
                  <Stack gap="small">
                    <p>{t("passkeys.row", { made })} {lastUsedAt === null ? t("passkeys.unused") : t("passkeys.used", { used: formatDateTime(lastUsedAt, actor.timeZone) })}</p>
                    <ActionForm action={removePasskeyAction} once={crypto.randomUUID()}>
                      <input type="hidden" name="passkeyId" value={passkeyId} />
                      <SubmitButton kind="quiet" pending={t("working")}>{t("passkeys.remove", { made })}</SubmitButton>
                    </ActionForm>
                  </Stack>
                </RuledRow>
              );
            })}
          </RuledList>
        )}
        <PasskeyButton action={addPasskeyAction} offer={offer}
          words={{ press: t("passkeys.add"), waiting: say("auth")("second.passkeyWaiting"), failed: t("passkeys.failed") }} />
      </Stack>
    </section>
  );
}
