import Link from "next/link";
import { askFamilyAction, withdrawFromFamilyAction } from "@/app/desk/children/[childId]/sets/[photoSetId]/ask-family-actions";
import { SideWatch } from "@/app/desk/children/[childId]/sets/[photoSetId]/side-watch";
import { sideWatchWords } from "@/app/desk/children/[childId]/sets/[photoSetId]/words";
import { readingWords } from "@/app/desk/cues/words";
import { ActionForm } from "@/app/ui/action-form";
import { CheckRow } from "@/app/ui/choice";
import { TextArea } from "@/app/ui/field";
import { Caution } from "@/app/ui/notice";
import { ReadingGrade } from "@/app/ui/reading-grade";
import { SubmitButton } from "@/app/ui/submit-button";
import { isWaiting } from "@/lib/domain/answering/back-question";
import { formatDateTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import type { SentSet } from "@/lib/records/answering";
import type { BackQuestion } from "@/lib/records/back-question-reads";
import { QUESTION_LENGTH } from "@/lib/records/questions";

/** What the family was asked about this set and what came of it, in a line each: nothing that the photo is judged by gives way to it. `isOver`: nobody waits for it any more. */
export function AskedLines({ asked, childId, isOver, zone }: { readonly asked: readonly BackQuestion[]; readonly childId: string; readonly isOver: boolean; readonly zone: string }) {
  const [t, desk] = [say("questions"), say("desk")];
  const when = (at: number) => formatDateTime(at, zone);
  return asked.map((each) => (
    <p key={each.backQuestionId}>
      {isWaiting(each) && !isOver ? <><strong>{t("desk.family.waiting", { when: when(each.askedAt) })}</strong> {desk("queue.askedFamily", { who: each.askedBy })}</>
        : t("desk.family.asked", { who: each.askedBy, when: when(each.askedAt) })}: “{each.words}”{" "}
      {each.repliedAt !== null ? <strong>{t("desk.family.replied", { who: each.repliedBy ?? "", when: when(each.repliedAt) })}: “{each.reply}”</strong>
        : each.newPhotoAt !== null ? (
          <strong>
            {t("desk.family.newPhoto", { when: when(each.newPhotoAt) })}{" "}
            {each.newPhotoSetId ? <Link href={`/desk/children/${childId}/sets/${each.newPhotoSetId}`} prefetch={false}>{t("desk.family.newPhotoLink")}</Link> : t("desk.family.newPhotoGone")}
          </strong>
        ) : each.withdrawnAt !== null ? t("desk.family.withdrawn", { when: when(each.withdrawnAt) }) : t(isOver ? "desk.family.over" : "desk.family.waitingWhat")}
    </p>
  ));
}

/** One short question about an unanswered set while none is with the family, else its withdrawal. */
export function AskFamily({ childId, set, asked, hint }: { readonly childId: string; readonly set: SentSet; readonly asked: readonly BackQuestion[]; readonly hint?: string }) {
  const [t, desk] = [say("questions"), say("desk")];
  const open = asked.find(isWaiting);
  if (open) {
    return (
      <ActionForm action={withdrawFromFamilyAction} once={crypto.randomUUID()} childId={childId} label={t("desk.family.withdraw")}>
        <input type="hidden" name="photoSetId" value={set.photoSetId} />
        <input type="hidden" name="backQuestionId" value={open.backQuestionId} />
        <p>{t("desk.family.withdrawWhat")}</p>
        <SubmitButton kind="quiet" pending={desk("answering.sending")}>{t("desk.family.withdraw")}</SubmitButton>
      </ActionForm>
    );
  }
  return (
    <details>
      <summary>{t("desk.family.title")}</summary>
      <ActionForm action={askFamilyAction} once={crypto.randomUUID()} childId={childId} label={t("desk.family.title")}>
        <input type="hidden" name="photoSetId" value={set.photoSetId} />
        <TextArea label={t("desk.family.words")} name="words" {...(hint ? { hint } : {})} required maxLength={QUESTION_LENGTH.max} />
        <ReadingGrade name="words" words={readingWords()} />
        <SideWatch setup={set.resolution.setup} checks={NO_CHECKS} words={sideWatchWords()}>
          <TextArea label={desk("answering.sideReason")} name="sideReason" rows={2} maxLength={500} />
          <CheckRow label={desk("answering.wordsConfirmed")} name="wordsConfirmed" />
        </SideWatch>
        <p>{t("desk.family.what")}</p>
        <Caution>{t("desk.family.caution")}</Caution>
        <SubmitButton kind="quiet" pending={desk("answering.sending")}>{t("desk.family.send")}</SubmitButton>
      </ActionForm>
    </details>
  );
}

/** No photo is judged here. */
const NO_CHECKS: readonly never[] = [];
