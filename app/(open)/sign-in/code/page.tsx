import type { Metadata } from "next";
import Link from "next/link";
import { CodeForm } from "@/app/(open)/sign-in/code-form";
import { ButtonLink } from "@/app/ui/button";
import { Heading } from "@/app/ui/heading";
import { Stack } from "@/app/ui/stack";
import { readAsked } from "@/lib/access/asked";
import { isDemo } from "@/lib/access/demo";
import { readerNow } from "@/lib/access/session";
import { say } from "@/lib/messages/say";

export const generateMetadata = async (): Promise<Metadata> => ({ title: say("auth", await readerNow())("code.title") });

/** The same page for an address we know and for one we do not. */
export default async function CodePage() {
  const reader = await readerNow();
  const t = say("auth", reader);
  return (
    <Stack gap="large">
      <Heading level={1} lead={t("code.lead")}>{t("code.title")}</Heading>
      <CodeForm needsAddress={(await readAsked()) === null} reader={reader} />
      <Stack gap="small">
        <p>{t("code.again")}</p>
        <ButtonLink href="/sign-in" kind="quiet">{t("code.askAgain")}</ButtonLink>
        {isDemo() ? <p><Link href="/demo-mail" prefetch={false}>{t("demo.mail")}</Link></p> : null}
      </Stack>
    </Stack>
  );
}
