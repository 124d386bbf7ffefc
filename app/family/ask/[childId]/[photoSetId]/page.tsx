import type { Metadata } from "next";
import Link from "next/link";
import { notFound } from "next/navigation";
import { askAction } from "@/app/family/ask/[childId]/[photoSetId]/actions";
import { turnsOf } from "@/app/family/ask/thread-words";
import { expectSaid } from "@/app/family/expectation";
import { FamilyFrame } from "@/app/family/frame";
import { ActionForm } from "@/app/ui/action-form";
import { ButtonLink } from "@/app/ui/button";
import { TextArea } from "@/app/ui/field";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { Row, Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { Thread } from "@/app/ui/thread";
import { grant } from "@/lib/access/grant";
import { readerNow, signedIn } from "@/lib/access/session";
import { formatDateTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import { markOpened } from "@/lib/records/answer-openings";
import { entryOf } from "@/lib/records/answers-read";
import { QUESTION_LENGTH } from "@/lib/records/questions";
import { childOf } from "@/lib/records/families";

export const generateMetadata = async (): Promise<Metadata> => ({ title: say("questions", await readerNow())("ask") });

type Params = Promise<{ readonly childId: string; readonly photoSetId: string }>;

/** The answer in force to one photo set, what was asked about it, and the form to ask more. */
export default async function AskPage({ params }: { readonly params: Params }) {
  const actor = await signedIn();
  const { reader } = actor;
  const t = say("questions", reader);
  const { childId, photoSetId } = await params;
  await grant(actor, "question.ask", childId);
  const reading = await grant(actor, "child.read", childId);
  const now = Date.now();
  const entry = await entryOf(reading, photoSetId, now);
  if (!entry || entry.voidReason === "wrong-child") notFound();
  const { givenName: child } = await childOf(reading);
  const { answer } = entry;
  if (answer) await markOpened(reading, [answer.answerId], now);
  return (
    <FamilyFrame current="history">
      <Link href="/family/history" prefetch={false}>{t("toHistory")}</Link>
      <Heading level={1} lead={entry.names.title}>{t("title", { child })}</Heading>
      {answer ? (
        <section>
          <Heading level={2}>{t("answerOf", { date: formatDateTime(answer.answeredAt, actor.timeZone, reader.locale), who: answer.answeredBy })}</Heading>
          <p>{answer.summary}</p>
        </section>
      ) : <p>{t("noAnswer")}</p>}
      {answer ? (
        // What was just sent is said aloud: the form stays as it was.
        <section aria-live="polite">
          <Heading level={2}>{t("list")}</Heading>
          {answer.thread.length === 0 ? <p>{t("none")}</p> : <Thread label={t("list")} turns={turnsOf(answer.thread, actor, now)} />}
          {entry.earlier.some((each) => each.thread.length > 0) ? <p>{t("before")}</p> : null}
        </section>
      ) : null}
      {answer && entry.voidReason ? <Notice kind="caution">{t("notOpen")}</Notice> : null}
      {answer && !entry.voidReason ? (
        <Stack>
          <Notice kind="caution">{t("notUrgent")}</Notice>
          <Row><ButtonLink kind="stop" href="/family/symptom">{say("family", reader)("card.hurts")}</ButtonLink></Row>
          <ActionForm action={askAction} once={crypto.randomUUID()} childId={childId} label={t("ask")}>
            <input type="hidden" name="answerId" value={answer.answerId} />
            <TextArea label={t("words")} name="words" hint={t("wordsHint", { child })} required maxLength={QUESTION_LENGTH.max} />
            <p>{expectSaid("question", now, actor, now)}</p>
            <SubmitButton pending={t("sending")}>{t("send")}</SubmitButton>
          </ActionForm>
        </Stack>
      ) : null}
    </FamilyFrame>
  );
}
