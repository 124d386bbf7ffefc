import Link from "next/link";
import { askForAddressAction, takeAddressAction } from "@/app/address/actions";
import { ActionForm } from "@/app/ui/action-form";
import { ButtonLink } from "@/app/ui/button";
import { Field } from "@/app/ui/field";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { DefinitionRows } from "@/app/ui/ruled";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { isStaff, type Actor } from "@/lib/access/actor";
import { isDemo } from "@/lib/access/demo";
import { grant } from "@/lib/access/grant";
import { isProofEnough } from "@/lib/domain/policy/policy";
import { say } from "@/lib/messages/say";
import { askedAddress, ownAddress } from "@/lib/records/own-address";

export type AddressQuery = { readonly for?: string; readonly done?: string };

/** Another address to sign in with: proved again, typed, and shown to be theirs by a code that is mailed there. */
export async function AddressForms({ actor, query }: { readonly actor: Actor; readonly query: AddressQuery }) {
  const t = say("address", actor.reader);
  const own = await grant(actor, "address.read", null);
  const asked = typeof query.for === "string" ? await askedAddress(own, query.for) : null;
  const account = isStaff(actor.role) ? "/desk/account" : "/family/account";
  return (
    <Stack gap="large">
      <Heading level={1} lead={t("lead")}>{t("title")}</Heading>
      {query.done === "yes" ? <Notice kind="done">{t("done")}</Notice> : null}
      <DefinitionRows rows={[{ term: t("now"), value: await ownAddress(own) }]} />
      {isProofEnough(actor.provedAt, "address.change", Date.now()) ? null : (
        <Notice kind="info"><p>{t("proofFirst")}</p><ButtonLink href={`${account}/proof`} kind="quiet">{t("toProof")}</ButtonLink></Notice>
      )}
      {asked !== null && query.for !== undefined ? <Take asked={asked} sealed={query.for} actor={actor} /> : null}
      <ActionForm action={askForAddressAction} once={crypto.randomUUID()} label={t("ask")}>
        <Field label={t("new")} name="address" type="email" autoComplete="email" required maxLength={254} />
        <SubmitButton pending={t("asking")} {...(asked === null ? {} : { kind: "quiet" as const })}>{t("ask")}</SubmitButton>
      </ActionForm>
      <p><ButtonLink href={account} kind="quiet">{t("back")}</ButtonLink></p>
    </Stack>
  );
}

function Take({ asked, sealed, actor }: { readonly asked: string; readonly sealed: string; readonly actor: Actor }) {
  const t = say("address", actor.reader);
  return (
    <section>
      <Stack>
        <Notice kind="info">{t("mailed", { address: asked })}</Notice>
        <ActionForm action={takeAddressAction} once={crypto.randomUUID()} label={t("take")}>
          <input type="hidden" name="asked" value={sealed} />
          <Field label={say("auth", actor.reader)("code.code")} name="code" autoComplete="one-time-code" inputMode="numeric" required maxLength={40} />
          <SubmitButton pending={t("taking")}>{t("take")}</SubmitButton>
        </ActionForm>
        {isDemo() ? <p><Link href="/demo-mail" prefetch={false}>{say("auth", actor.reader)("demo.mail")}</Link></p> : null}
      </Stack>
    </section>
  );
}
