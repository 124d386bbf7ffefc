import Link from "next/link";
import { notFound } from "next/navigation";
import { sendAnswerAction, takeAgainAction, wrongChildAction } from "@/app/desk/children/[childId]/sets/[photoSetId]/actions";
import { AnswerKeeper } from "@/app/desk/children/[childId]/sets/[photoSetId]/answer-keeper";
import { ChecklistRows } from "@/app/desk/children/[childId]/sets/[photoSetId]/checklist-rows";
import { MarkBoard } from "@/app/desk/children/[childId]/sets/[photoSetId]/mark-board";
import { SideWatch } from "@/app/desk/children/[childId]/sets/[photoSetId]/side-watch";
import { SidePart } from "@/app/desk/children/[childId]/sets/[photoSetId]/side-part";
import { boardWords, keeperWords } from "@/app/desk/children/[childId]/sets/[photoSetId]/words";
import { actProblems } from "@/app/desk/act-problems";
import { ActionForm } from "@/app/ui/action-form";
import { CheckRow, Choice } from "@/app/ui/choice";
import { SelectField, TextArea } from "@/app/ui/field";
import { Heading } from "@/app/ui/heading";
import { Caution, Notice } from "@/app/ui/notice";
import { Columns, Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { VIEWS } from "@/lib/domain/setup/vocabulary";
import { formatDateTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import { deskOf } from "@/lib/records/answering";
import { NEXT_STEPS } from "@/lib/records/answers";
import { draftOf } from "@/lib/records/drafts";
import { practiceOf } from "@/lib/records/practice";

type Params = Promise<{ readonly childId: string; readonly photoSetId: string }>;

/** The answering desk: the photo first and largest, its checklist as rows under it, then the words and the next step. */
export default async function AnsweringPage({ params }: { readonly params: Params }) {
  const t = say("desk");
  const actor = await signedIn();
  const { childId, photoSetId } = await params;
  const granted = await grant(actor, "answer.write", childId);
  const now = Date.now();
  const desk = await deskOf(granted, photoSetId, now);
  if (!desk) notFound();
  const { timeZone: zone } = await practiceOf(await grant(actor, "practice.read", null), now);
  const { set, standing } = desk;
  const draft = await draftOf(granted, photoSetId);
  const fields = draft?.fields ?? {};
  const isOpen = desk.answered === null && set.voidReason === null;
  const title = (
    <Heading level={1} lead={t("answering.of", {
      exercise: say("exercise")(`title.${set.exerciseKey}`), phase: say("exercise")(`phases.${set.phase}`), when: formatDateTime(set.sentAt, zone), who: set.sentBy,
      nth: desk.nth === 1 ? t("queue.first") : t("queue.nth", { n: desk.nth }),
    })}>{t("answering.title", { child: standing.childName })}</Heading>
  );
  const photos = set.photos.map((photo, index) => ({
    photoId: photo.photoId, width: photo.width, height: photo.height, src: `/media/${childId}/${photo.photoId}/2048`,
    alt: t("answering.photoAlt", { n: index + 1, view: t(`answering.view.${photo.view}`) }), saved: fields[`marks.${photo.photoId}`] ?? "",
  }));
  const items = set.rows.map(({ item }) => ({ value: item.key, label: say("exercise")(`items.${item.key}.title`) }));
  const words = actProblems();
  return (
    <Stack gap="large">
      <Link href="/desk" prefetch={false}>{t("answering.back")}</Link>
      {title}
      {desk.answered ? <Notice kind="done">{t("answering.done", { when: formatDateTime(desk.answered.answeredAt, zone), who: desk.answered.by })}</Notice> : null}
      {set.voidReason ? <Notice kind="caution">{t("answering.voided")}</Notice> : null}
      {standing.photoConsent === "given" ? null : <Notice kind="caution">{t("answering.consentOff")}</Notice>}
      <SidePart desk={desk} zone={zone} />
      <ActionForm action={sendAnswerAction} once={crypto.randomUUID()} childId={childId} problemWords={words} label={t("answering.checklist")}>
        <input type="hidden" name="photoSetId" value={photoSetId} />
        {standing.photoConsent === "given" ? <MarkBoard photos={photos} items={items} words={boardWords()} canDraw={isOpen} /> : null}
        {isOpen ? (
          <>
            <AnswerKeeper childId={childId} photoSetId={photoSetId} version={draft?.version ?? 0} words={keeperWords(draft ? formatDateTime(draft.savedAt, zone) : null)} />
            <ChecklistRows rows={set.rows} setup={set.resolution.setup} fields={fields} />
            <Columns>
              <Stack>
                <TextArea label={t("answering.summary")} hint={t("answering.summaryHint")} name="summary" rows={3} maxLength={2000} required defaultValue={fields["summary"]} />
                <TextArea label={t("answering.sideReason")} name="sideReason" rows={2} maxLength={500} defaultValue={fields["sideReason"]} />
                <CheckRow label={t("answering.wordsConfirmed")} name="wordsConfirmed" defaultChecked={fields["wordsConfirmed"] === "yes"} />
              </Stack>
              <Stack>
                <Choice legend={t("answering.nextStep")} name="nextStep" required defaultValue={fields["nextStep"]}
                  options={NEXT_STEPS.map((step) => ({ value: step, label: t(`answering.step.${step}`) }))} />
                <SelectField label={t("answering.nextView")} name="nextView" defaultValue={fields["nextView"] ?? "any"} options={viewOptions()} />
              </Stack>
            </Columns>
            <SideWatch setup={set.resolution.setup} words={{ disagree: t("answering.sidesDisagree"), cannotTell: t("answering.sidesUnsure") }} />
            <Caution>{t("answering.caution")}</Caution>
            <SubmitButton pending={t("answering.sending")}>{t("answering.send")}</SubmitButton>
          </>
        ) : null}
      </ActionForm>
      {isOpen ? (
        <Columns>
          <details>
            <summary>{t("answering.again")}</summary>
            <ActionForm action={takeAgainAction} once={crypto.randomUUID()} childId={childId} problemWords={words} label={t("answering.again")}>
              <input type="hidden" name="photoSetId" value={photoSetId} />
              <TextArea label={t("answering.againReason")} name="reason" required maxLength={500} />
              <SelectField label={t("answering.nextView")} name="nextView" defaultValue="any" options={viewOptions()} />
              <SubmitButton kind="quiet" pending={t("answering.sending")}>{t("answering.againSend")}</SubmitButton>
            </ActionForm>
          </details>
          <details>
            <summary>{t("answering.wrongChild")}</summary>
            <ActionForm action={wrongChildAction} once={crypto.randomUUID()} childId={childId} problemWords={words} label={t("answering.wrongChild")}>
              <input type="hidden" name="photoSetId" value={photoSetId} />
              <p>{t("answering.wrongChildWhat")}</p>
              <CheckRow label={t("answering.wrongChildSure")} name="sure" required />
              <SubmitButton kind="quiet" pending={t("answering.sending")}>{t("answering.wrongChildSend")}</SubmitButton>
            </ActionForm>
          </details>
        </Columns>
      ) : null}
    </Stack>
  );
}

function viewOptions() {
  const t = say("desk");
  return [{ value: "any", label: t("answering.anyView") }, ...VIEWS.map((view) => ({ value: view, label: t(`answering.view.${view}`) }))];
}
