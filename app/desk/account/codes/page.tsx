import type { Metadata } from "next";
import { codesKeptAction } from "@/app/desk/account/actions";
import { CopyButton } from "@/app/ui/copy-button";
import { ActionForm } from "@/app/ui/action-form";
import { ButtonLink } from "@/app/ui/button";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { PrintThis } from "@/app/ui/print-this";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import { ScreenOnly } from "@/app/ui/screen-only";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { codesToShow } from "@/lib/access/shown-codes";
import { say } from "@/lib/messages/say";

export const metadata: Metadata = { title: say("ownSignIn")("codes.title") };

/** A new set, in the browser it was made in, until it is said to be written down. */
export default async function CodesPage() {
  const actor = await signedIn();
  await grant(actor, "sign-in.read", null);
  const t = say("ownSignIn");
  const codes = await codesToShow(actor.personId, Date.now());
  if (!codes) {
    return (
      <Stack gap="large">
        <Heading level={1}>{t("codes.title")}</Heading>
        <Notice kind="info">{t("codes.gone")}</Notice>
        <ButtonLink href="/desk/account">{t("title")}</ButtonLink>
      </Stack>
    );
  }
  return (
    <Stack gap="large">
      <Heading level={1} lead={t("codes.newLead")}>{t("codes.newTitle")}</Heading>
      <RuledList label={t("codes.title")}>
        {codes.map((code) => <RuledRow key={code}><code>{code}</code></RuledRow>)}
      </RuledList>
      <p>{t("codes.keep")}</p>
      <PrintThis words={{ print: t("codes.print"), hint: t("codes.printHint") }} />
      <ScreenOnly>
        <Stack>
          <CopyButton text={codes.join("\n")} words={{ copy: t("codes.copy"), copied: t("codes.copied"), failed: t("codes.copyFailed") }} />
          <ActionForm action={codesKeptAction} once={crypto.randomUUID()} label={t("codes.newTitle")}>
            <SubmitButton pending={t("working")}>{t("codes.kept")}</SubmitButton>
          </ActionForm>
        </Stack>
      </ScreenOnly>
    </Stack>
  );
}
