import Link from "next/link";
import { notFound } from "next/navigation";
import { AnswerPart } from "@/app/desk/children/[childId]/questions/[questionId]/answer-part";
import { replyAction } from "@/app/desk/children/[childId]/questions/[questionId]/actions";
import { SideWatch } from "@/app/desk/children/[childId]/sets/[photoSetId]/side-watch";
import { sideWatchWords } from "@/app/desk/children/[childId]/sets/[photoSetId]/words";
import { readingWords } from "@/app/desk/cues/words";
import { readsWords } from "@/app/desk/reads-words";
import { SentBar } from "@/app/desk/sent-bar";
import { ActionForm } from "@/app/ui/action-form";
import { CheckRow } from "@/app/ui/choice";
import { TextArea } from "@/app/ui/field";
import { Heading } from "@/app/ui/heading";
import { Caution, Notice } from "@/app/ui/notice";
import { ReadingGrade } from "@/app/ui/reading-grade";
import { SideWord } from "@/app/ui/side-word";
import { Columns, Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { Thread } from "@/app/ui/thread";
import { WhileOpen } from "@/app/ui/while-open";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { formatDateTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import { entryOf } from "@/lib/records/answers-read";
import { practiceClock } from "@/lib/records/family-home";
import { languagesOf } from "@/lib/records/language";
import { practiceOf } from "@/lib/records/practice";
import { QUESTION_LENGTH, questionDesk } from "@/lib/records/questions";

type Params = Promise<{ readonly childId: string; readonly questionId: string }>;

/** One question with the answer it is about and everything asked beside it, and its one reply. */
export default async function QuestionPage({ params }: { readonly params: Params }) {
  const t = say("questions");
  const desk = say("desk");
  const actor = await signedIn();
  const { childId, questionId } = await params;
  const granted = await grant(actor, "question.reply", childId);
  const now = Date.now();
  const about = await questionDesk(granted, await grant(actor, "answer.write", childId), questionId, now);
  if (!about) notFound();
  const { question, set, answer, setup } = about;
  const entry = await entryOf(await grant(actor, "child.read", childId), set.photoSetId, now);
  const { timeZone: zone } = await practiceOf(await grant(actor, "practice.read", null), now);
  const isVoid = set.voidReason === "wrong-child";
  const isOpen = question.reply === null && !isVoid;
  return (
    <Stack gap="large">
      <Link href="/desk" prefetch={false}>{t("desk.back")}</Link>
      <SentBar actor={actor} now={now} />
      <Heading level={1} lead={t("desk.lead", { exercise: entry?.names.title ?? "", when: formatDateTime(answer.answeredAt, zone), who: answer.answeredBy })}>
        {t("desk.title", { child: about.childName })}
      </Heading>
      <p>{desk("answering.lie")} <SideWord>{say("common")("side", { side: setup.lieOn })}</SideWord></p>
      {isVoid ? <Notice kind="caution">{t("desk.voided")}</Notice> : null}
      {about.isAmended ? <Notice kind="caution">{t("desk.amended")}</Notice> : null}
      {about.isSetupChanged ? <Notice kind="caution">{t("desk.setupChanged")}</Notice> : null}
      <Columns>
        <Stack>
          <Heading level={2}>{t("list")}</Heading>
          <Thread label={t("list")} turns={about.thread.map((each) => ({
            key: each.questionId, asked: t("asked", { who: each.askedBy, date: formatDateTime(each.askedAt, zone) }), words: each.words,
            replied: each.reply ? t("replied", { who: each.reply.repliedBy, date: formatDateTime(each.reply.repliedAt, zone) }) : due(actor, each.askedAt, zone, now),
            reply: each.reply?.words ?? null,
          }))} />
          <ActionForm action={replyAction} once={crypto.randomUUID()} childId={childId} label={t("row")}>
            <WhileOpen isOpen={isOpen}>
              <input type="hidden" name="questionId" value={questionId} />
              <TextArea label={t("desk.reply")} name="words" {...readsWords(await languagesOf(await grant(actor, "child.read", childId)))} rows={5} required maxLength={QUESTION_LENGTH.max} />
              <ReadingGrade name="words" words={readingWords()} />
              <SideWatch setup={setup} checks={NO_CHECKS}
                words={sideWatchWords()}>
                <TextArea label={desk("answering.sideReason")} name="sideReason" rows={2} maxLength={500} />
                <CheckRow label={desk("answering.wordsConfirmed")} name="wordsConfirmed" />
              </SideWatch>
              <Caution>{t("desk.caution")}</Caution>
              <SubmitButton pending={t("sending")}>{t("desk.send")}</SubmitButton>
            </WhileOpen>
          </ActionForm>
          {question.reply ? <p>{t("desk.firstReply")}</p> : null}
        </Stack>
        <AnswerPart childId={childId} answer={answer} names={entry?.names ?? null} pictures={entry?.pictures ?? []} moments={entry?.moments ?? []} />
      </Columns>
    </Stack>
  );
}

/** No photo is judged here. */
const NO_CHECKS: readonly never[] = [];

function due(actor: Actor, askedAt: number, zone: string, now: number): string {
  const expected = practiceClock(actor, now).expect("question", askedAt);
  if (expected.is === "unknown" || expected.is === "paused") return say("questions")("waits");
  return say("questions")(expected.is === "late" ? "desk.late" : "desk.due", { when: formatDateTime(expected.by, zone) });
}
