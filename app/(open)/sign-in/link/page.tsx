import type { Metadata } from "next";
import { linkAction } from "@/app/(open)/sign-in/actions";
import { CodeForm } from "@/app/(open)/sign-in/code-form";
import { ActionForm } from "@/app/ui/action-form";
import { Heading } from "@/app/ui/heading";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { readAsked } from "@/lib/access/asked";
import { readerNow } from "@/lib/access/session";
import { say } from "@/lib/messages/say";

export const generateMetadata = async (): Promise<Metadata> => ({ title: say("auth", await readerNow())("link.title") });

/** Opening the link uses nothing up, whoever or whatever opens it: only the press does. */
export default async function LinkPage({ searchParams }: { readonly searchParams: Promise<{ readonly key?: string | string[] }> }) {
  const reader = await readerNow();
  const t = say("auth", reader);
  const { key } = await searchParams;
  if ((await readAsked()) === null) {
    return (
      <Stack gap="large">
        <Heading level={1} lead={t("link.elsewhere")}>{t("link.elsewhereTitle")}</Heading>
        <CodeForm needsAddress reader={reader} />
      </Stack>
    );
  }
  return (
    <Stack gap="large">
      <Heading level={1} lead={t("link.lead")}>{t("link.title")}</Heading>
      <ActionForm action={linkAction} once={crypto.randomUUID()}>
        <input type="hidden" name="key" value={typeof key === "string" ? key : ""} />
        <SubmitButton pending={t("code.going")}>{t("link.go")}</SubmitButton>
      </ActionForm>
    </Stack>
  );
}
