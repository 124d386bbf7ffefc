import type { Metadata } from "next";
import Link from "next/link";
import { notFound } from "next/navigation";
import { answerTherapistAction } from "@/app/family/asked/[childId]/[photoSetId]/actions";
import { askedTurns } from "@/app/family/asked/words";
import { expectSaid } from "@/app/family/expectation";
import styles from "@/app/family/family.module.css";
import { FamilyFrame } from "@/app/family/frame";
import { ActionForm } from "@/app/ui/action-form";
import { ButtonLink } from "@/app/ui/button";
import { TextArea } from "@/app/ui/field";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { PhotoFrame } from "@/app/ui/photo-frame";
import { Row, Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { Thread } from "@/app/ui/thread";
import { WhileOpen } from "@/app/ui/while-open";
import { grant } from "@/lib/access/grant";
import { readerNow, signedIn } from "@/lib/access/session";
import { isWaiting, pausesOf } from "@/lib/domain/answering/back-question";
import { formatDateTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import { entryOf } from "@/lib/records/answers-read";
import { childOf } from "@/lib/records/families";
import { practiceClock } from "@/lib/records/family-home";
import { QUESTION_LENGTH } from "@/lib/records/questions";

export const generateMetadata = async (): Promise<Metadata> => ({ title: say("questions", await readerNow())("back.thread") });

type Params = Promise<{ readonly childId: string; readonly photoSetId: string }>;

/** One photo set with what the therapist asked about it, and the form to answer what is still open. */
export default async function AskedPage({ params }: { readonly params: Params }) {
  const actor = await signedIn();
  const { reader } = actor;
  const [t, family] = [say("questions", reader), say("family", reader)];
  const { childId, photoSetId } = await params;
  await grant(actor, "back-question.reply", childId);
  const reading = await grant(actor, "child.read", childId);
  const now = Date.now();
  const entry = await entryOf(reading, photoSetId, now);
  if (!entry || entry.voidReason === "wrong-child") notFound();
  const { givenName: child } = await childOf(reading);
  const isOver = entry.answer !== null || entry.voidReason !== null;
  const open = isOver ? undefined : entry.asked.find(isWaiting);
  const last = entry.asked.at(-1);
  return (
    <FamilyFrame current="history">
      <Link href="/family/history" prefetch={false}>{t("toHistory")}</Link>
      <Heading level={1} lead={t("back.about", { date: formatDateTime(entry.sentAt, actor.timeZone, reader.locale) })}>{t("back.title", { child })}</Heading>
      {entry.pictures.length > 0 ? (
        <div className={styles.pictures}>
          {entry.pictures.map(({ photoId, view, width, height, isMarked }) => (
            <PhotoFrame key={photoId} src={`/media/${childId}/${photoId}/${isMarked ? "marked" : "1024"}`} width={width} height={height}
              alt={family(isMarked ? "history.markedAlt" : "history.photoAlt", { view: family(`history.viewIs.${view}`) })} />
          ))}
        </div>
      ) : null}
      <div aria-live="polite">{entry.asked.length === 0 ? <p>{t("back.none")}</p> : <Thread label={t("back.thread")} turns={askedTurns(entry.asked, isOver, actor)} />}</div>
      {last && !open && !isOver ? <p>{expectSaid("photo-set", entry.sentAt, actor, now, practiceClock(actor, now), pausesOf(entry.asked, null))}</p> : null}
      {last ? (
        <Stack>
          {open ? <Notice kind="caution">{t("back.notUrgent")}</Notice> : null}
          {open ? <Row><ButtonLink kind="stop" href="/family/symptom">{family("card.hurts")}</ButtonLink></Row> : null}
          <ActionForm action={answerTherapistAction} once={crypto.randomUUID()} childId={childId} label={t("back.go")}>
            <WhileOpen isOpen={open !== undefined}>
              <input type="hidden" name="photoSetId" value={photoSetId} />
              <input type="hidden" name="backQuestionId" value={(open ?? last).backQuestionId} />
              <TextArea label={t("back.words")} name="words" hint={t("back.wordsHint", { child })} required maxLength={QUESTION_LENGTH.max} />
              <p>{t("back.meanwhile")}</p>
              <SubmitButton pending={t("sending")}>{t("back.send")}</SubmitButton>
            </WhileOpen>
          </ActionForm>
          {open ? <p>{t("back.newPhoto")} <Link href={`/family/send?child=${childId}&exercise=${entry.exerciseKey}`}>{t("back.toSend")}</Link></p> : null}
        </Stack>
      ) : null}
    </FamilyFrame>
  );
}
