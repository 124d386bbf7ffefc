import { FromPhone } from "@/app/language/from-phone";
import { ActionForm, type FormOutcome } from "@/app/ui/action-form";
import { Row } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { LANGUAGE_NAMES, LOCALES, type Reader } from "@/lib/domain/words/reader";
import { say } from "@/lib/messages/say";

/** Every other language by its own name, so that who reads no other finds it. */
export function LanguageChoice({ action, reader }: {
  readonly action: (state: FormOutcome, form: FormData) => Promise<FormOutcome>;
  readonly reader: Reader;
}) {
  return (
    <Row>
      {LOCALES.filter((locale) => locale !== reader.locale).map((locale) => (
        <FromPhone key={locale} language={locale}>
          <ActionForm action={action} once={crypto.randomUUID()} label={say("common", reader)("language")} isBare>
            <input type="hidden" name="language" value={locale} />
            <SubmitButton kind="quiet" pending={LANGUAGE_NAMES[locale]}><span lang={locale}>{LANGUAGE_NAMES[locale]}</span></SubmitButton>
          </ActionForm>
        </FromPhone>
      ))}
    </Row>
  );
}
