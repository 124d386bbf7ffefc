import type { Metadata } from "next";
import { ButtonLink } from "@/app/ui/button";
import { Heading } from "@/app/ui/heading";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import { Stack } from "@/app/ui/stack";
import { readerNow } from "@/lib/access/session";
import { say } from "@/lib/messages/say";

export const generateMetadata = async (): Promise<Metadata> => ({ title: say("auth", await readerNow())("privacy.title") });

const SECTIONS = [
  ["caution", ["caution1", "caution2", "caution3", "caution4"]],
  ["kept", ["kept1", "kept2", "kept3", "cookies"]],
  ["who", ["who1", "who2"]],
  ["yours", ["yours1", "yours2"]],
] as const;

export default async function PrivacyPage() {
  const t = say("auth", await readerNow());
  return (
    <Stack gap="large">
      <Heading level={1}>{t("privacy.title")}</Heading>
      {SECTIONS.map(([section, sentences]) => (
        <section key={section}>
          <Heading level={2}>{t(`privacy.${section}Title`)}</Heading>
          <RuledList>{sentences.map((key) => <RuledRow key={key}>{t(`privacy.${key}`)}</RuledRow>)}</RuledList>
        </section>
      ))}
      <ButtonLink href="/sign-in" kind="quiet">{t("privacy.back")}</ButtonLink>
    </Stack>
  );
}
