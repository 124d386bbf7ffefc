import type { Metadata } from "next";
import { switchOffAction } from "@/app/(open)/mail-off/actions";
import { ActionForm } from "@/app/ui/action-form";
import { ButtonLink } from "@/app/ui/button";
import { Heading } from "@/app/ui/heading";
import { SubmitButton } from "@/app/ui/submit-button";
import { readerNow } from "@/lib/access/session";
import { say } from "@/lib/messages/say";

export const generateMetadata = async (): Promise<Metadata> => ({ title: say("notices", await readerNow())("off.title") });

/** Opening the link from a mail changes nothing, whoever or whatever opens it: only the press does. */
export default async function MailOffPage({ searchParams }: { readonly searchParams: Promise<{ readonly key?: string | string[] }> }) {
  const reader = await readerNow();
  const t = say("notices", reader);
  const { key } = await searchParams;
  return (
    <>
      <Heading level={1} lead={t("off.lead")}>{t("off.title")}</Heading>
      <p>{t("off.still")}</p>
      <ActionForm action={switchOffAction} once={crypto.randomUUID()} doneWords={t("off.done")}>
        <input type="hidden" name="key" value={typeof key === "string" ? key : ""} />
        <SubmitButton pending={t("off.pressing")}>{t("off.press")}</SubmitButton>
      </ActionForm>
      <p><ButtonLink href="/sign-in" kind="quiet">{t("off.signIn")}</ButtonLink></p>
    </>
  );
}
