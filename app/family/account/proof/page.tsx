import type { Metadata } from "next";
import Link from "next/link";
import { askForProofAction, showProofAction } from "@/app/family/account/proof/actions";
import { FamilyFrame } from "@/app/family/frame";
import { ActionForm } from "@/app/ui/action-form";
import { ButtonLink } from "@/app/ui/button";
import { Field } from "@/app/ui/field";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import type { Actor } from "@/lib/access/actor";
import { isDemo } from "@/lib/access/demo";
import { grant } from "@/lib/access/grant";
import { readerNow, signedIn } from "@/lib/access/session";
import { isProofFresh, PROOF_LIFE_MS } from "@/lib/domain/policy/policy";
import { formatTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import { proofAsked } from "@/lib/records/mailed-proof";

export const generateMetadata = async (): Promise<Metadata> => ({ title: say("care", await readerNow())("proof.title") });

/** A mailed code once more, for a carer who wants to do what an open phone alone must not be enough for; the form they came from waits in its own tab. */
export default async function ProofPage() {
  const actor = await signedIn();
  const now = Date.now();
  const until = await proofAsked(await grant(actor, "mail-proof.show", null), now);
  const t = say("care", actor.reader);
  const isFresh = isProofFresh(actor.provedAt, now);
  return (
    <FamilyFrame current="account">
      <Heading level={1} lead={t("proof.lead")}>{t("proof.title")}</Heading>
      {isFresh && actor.provedAt !== null
        ? <Notice kind="done">{t("proof.done", { until: formatTime(actor.provedAt + PROOF_LIFE_MS, actor.timeZone, actor.reader.locale) })}</Notice>
        : until === null ? <Ask actor={actor} /> : <Type actor={actor} until={until} />}
      <p><ButtonLink href="/family/account" kind="quiet">{t("proof.back")}</ButtonLink></p>
    </FamilyFrame>
  );
}

function Ask({ actor, again = false }: { readonly actor: Actor; readonly again?: boolean }) {
  const t = say("care", actor.reader);
  return (
    <ActionForm action={askForProofAction} once={crypto.randomUUID()} label={t("proof.ask")}>
      <p>{t(again ? "proof.againWhy" : "proof.askWhy")}</p>
      <SubmitButton pending={t("proof.asking")} {...(again ? { kind: "quiet" as const } : {})}>{t(again ? "proof.again" : "proof.ask")}</SubmitButton>
    </ActionForm>
  );
}

function Type({ actor, until }: { readonly actor: Actor; readonly until: number }) {
  const t = say("care", actor.reader);
  const auth = say("auth", actor.reader);
  return (
    <Stack gap="large">
      <ActionForm action={showProofAction} once={crypto.randomUUID()} label={t("proof.title")}>
        <Field label={auth("code.code")} name="code" hint={t("proof.until", { until: formatTime(until, actor.timeZone, actor.reader.locale) })}
          autoComplete="one-time-code" inputMode="numeric" required maxLength={40} />
        <SubmitButton pending={t("proof.showing")}>{t("proof.show")}</SubmitButton>
      </ActionForm>
      <Ask actor={actor} again />
      {isDemo() ? <p><Link href="/demo-mail" prefetch={false}>{auth("demo.mail")}</Link></p> : null}
    </Stack>
  );
}
