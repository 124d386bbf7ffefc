import Link from "next/link";
import { notFound } from "next/navigation";
import { sendAnswerAction, takeAgainAction, wrongChildAction } from "@/app/desk/children/[childId]/sets/[photoSetId]/actions";
import { AnswerKeeper } from "@/app/desk/children/[childId]/sets/[photoSetId]/answer-keeper";
import { AskFamily } from "@/app/desk/children/[childId]/sets/[photoSetId]/ask-family";
import { boardKeyLines, boardWords } from "@/app/desk/children/[childId]/sets/[photoSetId]/board-words";
import { AnswerState } from "@/app/desk/children/[childId]/sets/[photoSetId]/answer-state";
import { ChecklistRows } from "@/app/desk/children/[childId]/sets/[photoSetId]/checklist-rows";
import { ClipAround, GivenSpans } from "@/app/desk/children/[childId]/sets/[photoSetId]/clip-around";
import { DeskClip } from "@/app/desk/children/[childId]/sets/[photoSetId]/desk-clip";
import { deskClipWords, momentWords } from "@/app/desk/children/[childId]/sets/[photoSetId]/desk-clip-words";
import { DeskKeys } from "@/app/desk/children/[childId]/sets/[photoSetId]/desk-keys";
import styles from "@/app/desk/children/[childId]/sets/[photoSetId]/desk.module.css";
import { draftWords, keeperWords } from "@/app/desk/children/[childId]/sets/[photoSetId]/keeper-words";
import { MarkBoard } from "@/app/desk/children/[childId]/sets/[photoSetId]/mark-board";
import { MirrorForm } from "@/app/desk/children/[childId]/sets/[photoSetId]/mirror-part";
import { NextStep, NextView } from "@/app/desk/children/[childId]/sets/[photoSetId]/next-step";
import { chosenAgain } from "@/app/desk/children/[childId]/sets/[photoSetId]/offered-cues";
import { Proposal } from "@/app/desk/children/[childId]/sets/[photoSetId]/proposal";
import { SideWatch } from "@/app/desk/children/[childId]/sets/[photoSetId]/side-watch";
import { SidePart, WholeRecord } from "@/app/desk/children/[childId]/sets/[photoSetId]/side-part";
import { VoiceRecorder } from "@/app/desk/children/[childId]/sets/[photoSetId]/voice-recorder";
import { recorderWords } from "@/app/desk/children/[childId]/sets/[photoSetId]/voice-words";
import { keyLines, keysWords, proposalWords, sideWatchWords } from "@/app/desk/children/[childId]/sets/[photoSetId]/words";
import { AttachedPairs, PairsPart } from "@/app/desk/children/[childId]/then-and-now/answer-pairs";
import { PairsAround } from "@/app/desk/children/[childId]/then-and-now/pairs-around";
import { readingWords } from "@/app/desk/cues/words";
import { readsWords } from "@/app/desk/reads-words";
import { SentBar } from "@/app/desk/sent-bar";
import { patternWords } from "@/app/desk/families/words";
import { ActionForm } from "@/app/ui/action-form";
import { CheckRow } from "@/app/ui/choice";
import { SelectField, TextArea } from "@/app/ui/field";
import { Heading } from "@/app/ui/heading";
import { Caution, Notice } from "@/app/ui/notice";
import { ReadingGrade } from "@/app/ui/reading-grade";
import { SideWord } from "@/app/ui/side-word";
import { Columns } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { levelOf } from "@/lib/domain/marks/level";
import { marksIn } from "@/lib/domain/marks/marks.schema";
import { VIEWS } from "@/lib/domain/setup/vocabulary";
import { formatDate, formatDateTime } from "@/lib/domain/time/format";
import { clipWords } from "@/lib/messages/clip-words";
import { say } from "@/lib/messages/say";
import { answerAsDraft } from "@/lib/records/amendments";
import { NEXT_STEPS } from "@/lib/domain/answering/check-answer";
import { readSpan, spanField } from "@/lib/domain/clip/span";
import { deskOf } from "@/lib/records/answering";
import { versionsOf } from "@/lib/records/given-answers";
import { libraryOf } from "@/lib/records/cues";
import { draftOf } from "@/lib/records/drafts";
import { exerciseWords } from "@/lib/records/exercise-names";
import { languagesOf } from "@/lib/records/language";
import { practiceOf } from "@/lib/records/practice";
import { ownVoiceNote } from "@/lib/records/voice-notes";

type Params = Promise<{ readonly childId: string; readonly photoSetId: string }>;

type Search = Promise<{ readonly amend?: string | string[]; readonly late?: string | string[] }>;

/** The answering desk: the photo first and largest, its checklist as rows under it, then the words and the next step. */
export default async function AnsweringPage({ params, searchParams }: { readonly params: Params; readonly searchParams: Search }) {
  const t = say("desk");
  const actor = await signedIn();
  const { childId, photoSetId } = await params;
  const granted = await grant(actor, "answer.write", childId);
  const now = Date.now();
  const desk = await deskOf(granted, photoSetId, now);
  if (!desk) notFound();
  const { timeZone: zone } = await practiceOf(await grant(actor, "practice.read", null), now);
  const { set, standing } = desk;
  const names = exerciseWords(actor.practiceId, set.exerciseKey, set.exerciseVersion);
  const draft = await draftOf(granted, photoSetId);
  const isShown = standing.photoConsent === "given";
  const asked = await searchParams;
  const { answered } = desk;
  const mayAmend = answered !== null && answered.publishedAt <= now && set.voidReason === null && isShown && set.photos.length > 0;
  const isAmending = mayAmend && (asked.amend === "yes" || asked.late === "amend");
  const library = await libraryOf(await grant(actor, "cues.read", null), set.exerciseKey, now);
  const as = chosenAgain(library, set.resolution.setup, (answered && await answerAsDraft(granted, answered.answerId)) ?? {});
  const fields = draft?.fields ?? (isAmending ? as : {});
  const isOpen = (answered === null || isAmending) && set.voidReason === null;
  const inWords = await draftWords(granted, set, names, library, zone, now);
  const voice = (await ownVoiceNote(granted, photoSetId)) ?? (answered?.voice && fields["voice"] === answered.voice.voiceNoteId ? answered.voice : null);
  const late = asked.late === "answer" || asked.late === "amend" ? asked.late : null;
  const state = answered && set.voidReason === null ? (
    <AnswerState childId={childId} answered={answered} versions={await versionsOf(granted, photoSetId, now)} mine={draft?.fields ?? null} as={as} names={names} words={inWords}
      zone={zone} now={now} late={late} isAmending={isAmending} mayAmend={mayAmend} />
  ) : null;
  const photos = set.photos.map((photo, index) => ({
    photoId: photo.photoId, width: photo.width, height: photo.height, src: `/media/${childId}/${photo.photoId}/2048`, thumb: `/media/${childId}/${photo.photoId}/320`,
    alt: t("answering.photoAlt", { n: index + 1, view: t(`answering.view.${photo.view}`) }), saved: marksIn((isOpen ? fields : as)[`marks.${photo.photoId}`]), levelDegrees: levelOf(photo.card),
  }));
  const moments = set.moments.map(({ photoId, momentOf, clipMs, isHeld, by, width, height, card }) => ({
    photoId, momentOf, clipMs, isHeld, width, height, src: `/media/${childId}/${photoId}/2048`, thumb: `/media/${childId}/${photoId}/320`, levelDegrees: levelOf(card),
    saved: marksIn((isOpen ? fields : as)[`marks.${photoId}`]), ...momentWords(clipMs, by),
  }));
  const spans = Object.fromEntries(set.photos.flatMap(({ photoId }) => {
    const span = readSpan((isOpen ? fields : as)[spanField(photoId)] ?? "");
    return span ? [[photoId, span] as const] : [];
  }));
  const reads = readsWords(await languagesOf(granted));
  const items = set.rows.map(({ item }) => ({ value: item.key, label: names.itemTitle(item.key) }));
  return (
    // Made anew with each form: what was drawn and attached is held by the parts inside, and another form holds something else.
    <PairsAround key={`${answered?.answerId ?? ""} ${isAmending}`} granted={granted} set={set} names={names} fields={fields} zone={zone} now={now}>
      <ClipAround saved={moments} savedSpans={spans}>
      <div className={styles.desk} data-fit>
        <header className={styles.head}>
          <Link href="/desk" prefetch={false}>{t("answering.back")}</Link>
          <Heading level={1}>{t("answering.title", { child: standing.childName })}</Heading>
          <span className={styles.lie}>{t("answering.lie")} <SideWord>{say("common")("side", { side: set.resolution.setup.lieOn })}</SideWord></span>
          {isShown && set.photos.some(({ clip }) => clip) ? <a href="#clip">{say("clip", actor.reader)("look")}</a> : null}
          <span className={styles.about}>{t("answering.of", {
            pattern: standing.record ? patternWords(standing.record.record) : t("answering.noPattern"),
            exercise: names.title, phase: say("exercise")(`phases.${set.phase}`), when: formatDateTime(set.sentAt, zone), who: set.sentBy,
            nth: desk.nth === 1 ? t("queue.first") : t("queue.nth", { n: desk.nth }),
          })}</span>
          <SentBar actor={actor} now={now} />
        </header>
        <SidePart desk={desk} zone={zone} />
        <ActionForm action={sendAnswerAction} once={crypto.randomUUID()} childId={childId} label={t("answering.checklist")} isBare>
          <input type="hidden" name="photoSetId" value={photoSetId} />
          {isAmending ? <input type="hidden" name="amends" value={answered.answerId} /> : null}
          <div className={styles.photo}>
            {set.voidReason ? <Notice kind="caution">{t(`answering.voided-${set.voidReason}`)}</Notice> : null}
            {set.setAside > 0 ? <Notice kind="info">{say("erasures")("set.asideCount", { n: set.setAside })}</Notice> : null}
            {set.photosErasedAt === null ? null : <Notice kind="info">{say("erasures")("set.erasedOn", { date: formatDate(set.photosErasedAt, zone) })}</Notice>}
            {isShown && isOpen && set.photos.length === 0 ? <Notice kind="caution">{say("erasures")("set.noneLeft")}</Notice> : null}
            {isShown ? <MarkBoard photos={photos} items={items} words={boardWords()} canDraw={isOpen} /> : <Notice kind="caution">{t("answering.consentOff")}</Notice>}
          </div>
          {isOpen ? (
            <>
              <div className={styles.list}>
                <ChecklistRows actor={actor} exerciseKey={set.exerciseKey} rows={set.rows} ledger={standing.ledger} names={names} setup={set.resolution.setup} fields={fields} keys={<DeskKeys words={keysWords()} lines={[...keyLines(), ...boardKeyLines()]} />} />
              </div>
              <div className={styles.words}>
                <div className={styles.summary}>
                  <TextArea label={t("answering.summary")} name="summary" {...reads} rows={2} maxLength={2000} required defaultValue={fields["summary"]} />
                  <Proposal words={proposalWords(standing.childName, set.resolution.setup.lieOn)} note={t("answering.proposed")} />
                  <ReadingGrade name="summary" words={readingWords()} />
                </div>
                <NextStep legend={t("answering.nextStep")} steps={NEXT_STEPS.map((step) => ({ value: step, label: t(`answering.step.${step}`) }))} saved={fields["nextStep"]} />
                <SideWatch setup={set.resolution.setup} checks={set.photos.map((photo) => photo.sideCheck)}
                  words={sideWatchWords()}>
                  <TextArea label={t("answering.sideReason")} name="sideReason" rows={2} maxLength={500} defaultValue={fields["sideReason"]} />
                  <CheckRow label={t("answering.wordsConfirmed")} name="wordsConfirmed" defaultChecked={fields["wordsConfirmed"] === "yes"} />
                </SideWatch>
                <AttachedPairs />
                <GivenSpans words={deskClipWords()} />
                {isAmending ? <TextArea label={say("drafts")("amendReason")} name="amendReason" rows={2} maxLength={500} required defaultValue={fields["amendReason"]} /> : null}
                <div className={styles.send}>
                  <SubmitButton pending={t("answering.sending")}>{isAmending ? say("drafts")("amendSend") : t("answering.send")}</SubmitButton>
                  <VoiceRecorder childId={childId} photoSetId={photoSetId} personId={actor.personId} saved={voice} words={recorderWords()} />
                  <NextView label={t("answering.nextView")} views={viewOptions()} saved={fields["nextView"]} />
                </div>
                <div className={styles.caution}>
                  <Caution>{t("answering.caution")}</Caution>
                  <AnswerKeeper childId={childId} photoSetId={photoSetId} personId={actor.personId} version={draft?.version ?? 0} stored={fields} isAmending={isAmending}
                    words={keeperWords(inWords, draft ? formatDateTime(draft.savedAt, zone) : null)} />
                </div>
              </div>
            </>
          ) : <div className={styles.list} tabIndex={0}>{state}</div>}
        </ActionForm>
      </div>
      <div className={styles.after}>
        {isOpen ? state : null}
        {isShown ? (
          <div id="clip">
            {set.photos.map(({ photoId, clip, view, isTurnedBack }) => (clip ? (
              <DeskClip key={photoId} childId={childId} photoId={photoId} by={actor.name} canTake={isOpen} words={deskClipWords()}
                clip={{ ...clip, src: `/media/${childId}/${photoId}/clip`, isTurnedBack }} clipWords={clipWords(clip.durationMs, t(`answering.view.${view}`), actor.reader)} />
            ) : null))}
          </div>
        ) : null}
        <PairsPart canAttach={isOpen} />
        <WholeRecord desk={desk} zone={zone} />
        {isShown ? <p><Link href={`/desk/children/${childId}/sets/${photoSetId}/photos`} prefetch={false}>{say("erasures")("set.link")}</Link></p> : null}
        {isOpen && !isAmending ? set.photos.map((photo, index) => (
          <MirrorForm key={photo.photoId} childId={childId} photoSetId={photoSetId} photo={photo} name={photos[index]?.alt ?? ""} />
        )) : null}
        {isOpen && !isAmending ? (
          <Columns>
            <details data-again>
              <summary>{t("answering.again")}</summary>
              <ActionForm action={takeAgainAction} once={crypto.randomUUID()} childId={childId} label={t("answering.again")}>
                <input type="hidden" name="photoSetId" value={photoSetId} />
                <TextArea label={t("answering.againReason")} name="reason" required maxLength={500} />
                <SideWatch setup={set.resolution.setup} checks={[]} words={sideWatchWords()}>
                  <TextArea label={t("answering.sideReason")} name="sideReason" rows={2} maxLength={500} />
                  <CheckRow label={t("answering.wordsConfirmed")} name="wordsConfirmed" />
                </SideWatch>
                <SelectField label={t("answering.nextView")} name="nextView" defaultValue="any" options={viewOptions()} />
                <SubmitButton kind="quiet" pending={t("answering.sending")}>{t("answering.againSend")}</SubmitButton>
              </ActionForm>
            </details>
            <AskFamily childId={childId} set={set} asked={desk.asked} {...reads} />
            <details>
              <summary>{t("answering.wrongChild")}</summary>
              <ActionForm action={wrongChildAction} once={crypto.randomUUID()} childId={childId} label={t("answering.wrongChild")}>
                <input type="hidden" name="photoSetId" value={photoSetId} />
                <p>{t("answering.wrongChildWhat")}</p>
                <CheckRow label={t("answering.wrongChildSure")} name="sure" required />
                <SubmitButton kind="quiet" pending={t("answering.sending")}>{t("answering.wrongChildSend")}</SubmitButton>
              </ActionForm>
            </details>
          </Columns>
        ) : null}
      </div>
      </ClipAround>
    </PairsAround>
  );
}

function viewOptions() {
  const t = say("desk");
  return [{ value: "any", label: t("answering.anyView") }, ...VIEWS.map((view) => ({ value: view, label: t(`answering.view.${view}`) }))];
}
