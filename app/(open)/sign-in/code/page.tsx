import type { Metadata } from "next";
import Link from "next/link";
import { CodeForm } from "@/app/(open)/sign-in/code-form";
import { ButtonLink } from "@/app/ui/button";
import { Heading } from "@/app/ui/heading";
import { Stack } from "@/app/ui/stack";
import { readAsked } from "@/lib/access/asked";
import { isDemo } from "@/lib/access/demo";
import { say } from "@/lib/messages/say";

export const metadata: Metadata = { title: say("auth")("code.title") };

/** The same page for an address we know and for one we do not. */
export default async function CodePage() {
  const t = say("auth");
  return (
    <Stack gap="large">
      <Heading level={1} lead={t("code.lead")}>{t("code.title")}</Heading>
      <CodeForm needsAddress={(await readAsked()) === null} />
      <Stack gap="small">
        <p>{t("code.again")}</p>
        <ButtonLink href="/sign-in" kind="quiet">{t("code.askAgain")}</ButtonLink>
        {isDemo() ? <p><Link href="/demo-mail" prefetch={false}>{t("demo.mail")}</Link></p> : null}
      </Stack>
    </Stack>
  );
}
