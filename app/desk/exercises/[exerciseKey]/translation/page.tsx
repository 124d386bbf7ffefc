import Link from "next/link";
import { notFound } from "next/navigation";
import { saveTranslationAction } from "@/app/desk/exercises/[exerciseKey]/translation/actions";
import { ActionForm } from "@/app/ui/action-form";
import { TextArea } from "@/app/ui/field";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import { Row, Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { isLocale, LANGUAGE_NAMES, LOCALES, type Locale } from "@/lib/domain/words/reader";
import { say } from "@/lib/messages/say";
import { translationsOf, type TranslatedText } from "@/lib/records/translations";

type Props = {
  readonly params: Promise<{ readonly exerciseKey: string }>;
  readonly searchParams: Promise<{ readonly language?: string | string[]; readonly text?: string | string[] }>;
};

/** Every text of one exercise beside its translation; the one in hand (`text`) with its form. Works without scripts. */
export default async function TranslationPage({ params, searchParams }: Props) {
  const t = say("exercises");
  const actor = await signedIn();
  const reading = await grant(actor, "cues.read", null);
  const { exerciseKey } = await params;
  const { language: wanted, text } = await searchParams;
  const language = isLocale(wanted) && wanted !== "en" ? wanted : (LOCALES.find((locale) => locale !== "en") ?? "en");
  const texts = await translationsOf(reading, exerciseKey, language, Date.now());
  if (!texts) notFound();
  const missing = texts.filter((each) => each.words === null).length;
  const address = (about: string) => `/desk/exercises/${exerciseKey}/translation?${new URLSearchParams({ language, text: about })}#in-hand`;
  return (
    <Stack gap="large">
      <Link href={`/desk/exercises/${exerciseKey}`} prefetch={false}>{t("translation.back")}</Link>
      <Heading level={1} lead={t("translation.lead")}>{t("translation.title", { language: LANGUAGE_NAMES[language] })}</Heading>
      <Notice kind={missing > 0 ? "caution" : "info"}>{t("translation.missing", { n: missing })}</Notice>
      <RuledList label={t("translation.list")}>
        {texts.map((each) => (
          <RuledRow key={each.about}>
            {each.about === text ? <InHand text={each} exerciseKey={exerciseKey} language={language} /> : (
              <Stack gap="small">
                <p>{each.source}</p>
                {each.words === null ? <Missing text={each} /> : <p lang={language}>{each.words}</p>}
                <Row><Link href={address(each.about)} prefetch={false} aria-label={t("translation.changeOf", { words: each.source })}>{t("translation.change")}</Link></Row>
              </Stack>
            )}
          </RuledRow>
        ))}
      </RuledList>
    </Stack>
  );
}

/** That a family reads the English, and whether it once had words. */
function Missing({ text }: { readonly text: TranslatedText }) {
  const t = say("exercises");
  return <p><strong>{t(text.outdated === null ? "translation.none" : "translation.outdated")}.</strong> {t("translation.inEnglish")}</p>;
}

function InHand({ text, exerciseKey, language }: { readonly text: TranslatedText; readonly exerciseKey: string; readonly language: Locale }) {
  const t = say("exercises");
  return (
    <section id="in-hand" aria-label={t("translation.changeOf", { words: text.source })}>
      <ActionForm action={saveTranslationAction} once={crypto.randomUUID()} label={t("translation.change")}>
        <p>{text.source}</p>
        {text.words === null ? <Missing text={text} /> : null}
        <input type="hidden" name="exerciseKey" value={exerciseKey} />
        <input type="hidden" name="language" value={language} />
        <input type="hidden" name="about" value={text.about} />
        <input type="hidden" name="source" value={text.source} />
        <input type="hidden" name="version" value={text.version} />
        <TextArea label={LANGUAGE_NAMES[language]} hint={t("translation.hint")} name="words" rows={3} required maxLength={400} defaultValue={text.words ?? text.outdated ?? ""} />
        <Row>
          <SubmitButton pending={t("translation.saving")}>{t("translation.save")}</SubmitButton>
          <Link href={`/desk/exercises/${exerciseKey}/translation?language=${language}`} prefetch={false}>{t("translation.leave")}</Link>
        </Row>
      </ActionForm>
    </section>
  );
}
