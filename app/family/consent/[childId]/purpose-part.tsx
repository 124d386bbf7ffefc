import { giveConsentAction, withdrawConsentAction } from "@/app/family/consent/[childId]/actions";
import { ActionForm } from "@/app/ui/action-form";
import { Choice } from "@/app/ui/choice";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { formatDate } from "@/lib/domain/time/format";
import type { Reader } from "@/lib/domain/words/reader";
import { consentText } from "@/lib/messages/consent-text";
import { say } from "@/lib/messages/say";
import type { ConsentView } from "@/lib/records/consents";

/** The text, what was decided, and one press to change it. Taking back asks less than giving. */
export function PurposePart({ consent, childId, child, zone, reader }: {
  readonly consent: ConsentView;
  readonly childId: string;
  readonly child: string;
  readonly zone: string;
  readonly reader: Reader;
}) {
  const t = say("auth", reader);
  const { purpose, decision, decidedAt, isCurrentText, standings } = consent;
  const text = consentText(purpose, reader);
  const isGiven = decision === "given";
  return (
    <section>
      <Heading level={2} lead={t("consent.version", { version: text.version })}>{text.title}</Heading>
      <Stack>
        <RuledList label={text.title}>{text.sentences.map((sentence) => <RuledRow key={sentence}>{sentence}</RuledRow>)}</RuledList>
        <Notice kind={isGiven ? "done" : "info"}>
          <p>{decidedAt === null ? t("consent.notGiven") : t(isGiven ? "consent.given" : "consent.withdrawn", { date: formatDate(decidedAt, zone, reader.locale) })}</p>
          {decision === "withdrawn" && purpose === "photos" ? <p>{t("consent.photosOff")}</p> : null}
          {isGiven && !isCurrentText ? <p>{t("consent.textChanged")}</p> : null}
        </Notice>
        {standings.length > 0 && isGiven ? (
          <ActionForm action={withdrawConsentAction} once={crypto.randomUUID()} childId={childId}>
            <input type="hidden" name="purpose" value={purpose} />
            <input type="hidden" name="textVersion" value={text.version} />
            <SubmitButton kind="quiet" pending={t("consent.working")}>{t("consent.withdraw", { purpose })}</SubmitButton>
          </ActionForm>
        ) : null}
        {standings.length > 0 && !(isGiven && isCurrentText) ? (
          <ActionForm action={giveConsentAction} once={crypto.randomUUID()} childId={childId}>
            <input type="hidden" name="purpose" value={purpose} />
            <input type="hidden" name="textVersion" value={text.version} />
            <Choice legend={t("consent.standing", { child })} name="standing" required row
              options={standings.map((standing) => ({ value: standing, label: t("consent.standingOption", { standing }) }))} />
            <SubmitButton kind={purpose === "photos" ? "primary" : "quiet"} pending={t("consent.working")}>{t("consent.give", { purpose })}</SubmitButton>
          </ActionForm>
        ) : null}
      </Stack>
    </section>
  );
}
