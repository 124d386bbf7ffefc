import type { Metadata } from "next";
import { linkAction } from "@/app/(open)/sign-in/actions";
import { CodeForm } from "@/app/(open)/sign-in/code-form";
import { CODE_PROBLEMS, problemWords } from "@/app/(open)/words";
import { ActionForm } from "@/app/ui/action-form";
import { Heading } from "@/app/ui/heading";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { readAsked } from "@/lib/access/asked";
import { say } from "@/lib/messages/say";

export const metadata: Metadata = { title: say("auth")("link.title") };

/** Opening the link uses nothing up, whoever or whatever opens it: only the press does. */
export default async function LinkPage({ searchParams }: { readonly searchParams: Promise<{ readonly key?: string | string[] }> }) {
  const t = say("auth");
  const { key } = await searchParams;
  if ((await readAsked()) === null) {
    return (
      <Stack gap="large">
        <Heading level={1} lead={t("link.elsewhere")}>{t("link.elsewhereTitle")}</Heading>
        <CodeForm needsAddress />
      </Stack>
    );
  }
  return (
    <Stack gap="large">
      <Heading level={1} lead={t("link.lead")}>{t("link.title")}</Heading>
      <ActionForm action={linkAction} once={crypto.randomUUID()} problemWords={problemWords([...CODE_PROBLEMS, "link-elsewhere"])}>
        <input type="hidden" name="key" value={typeof key === "string" ? key : ""} />
        <SubmitButton pending={t("code.going")}>{t("link.go")}</SubmitButton>
      </ActionForm>
    </Stack>
  );
}
