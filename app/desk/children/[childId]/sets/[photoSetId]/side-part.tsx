import { LedgerPart } from "@/app/desk/children/[childId]/ledger-part";
import { SetupPicture } from "@/app/desk/children/[childId]/setup/setup-picture";
import { AskedLines } from "@/app/desk/children/[childId]/sets/[photoSetId]/ask-family";
import { CardNotices } from "@/app/desk/children/[childId]/sets/[photoSetId]/mirror-part";
import styles from "@/app/desk/children/[childId]/sets/[photoSetId]/desk.module.css";
import { setupLabel } from "@/app/desk/families/words";
import { Notice } from "@/app/ui/notice";
import { SetupSchematic } from "@/app/ui/schematic/setup-schematic";
import { VoicePlayer } from "@/app/ui/voice-player";
import { formatDateTime } from "@/lib/domain/time/format";
import { DESK } from "@/lib/domain/words/reader";
import { playerWords } from "@/lib/messages/player-words";
import { say } from "@/lib/messages/say";
import type { Desk, LastAnswer } from "@/lib/records/answering";

/** What a photo is judged by, always beside it: the set-up, the side check, the family's words, what was said last. */
export function SidePart({ desk, zone }: { readonly desk: Desk; readonly zone: string }) {
  const t = say("desk");
  const { set } = desk;
  const facts = [
    { term: t("answering.check"), value: <>{set.photos.map((photo, at) => (
      <span key={photo.photoId} className={styles.check}>{t("answering.photoAlt", { n: at + 1, view: t(`answering.view.${photo.view}`) })}: {t(`queue.check.${photo.sideCheck ?? "none"}`)}. </span>
    ))}{t("answering.checkAdvice")}</> },
    { term: t("answering.note"), value: set.note || t("answering.noNote") },
    ...(desk.lastAnswer ? [{ term: t("answering.last", { when: formatDateTime(desk.lastAnswer.answeredAt, zone), who: desk.lastAnswer.by }), value: <Said answer={desk.lastAnswer} childId={desk.standing.childId} /> }] : []),
  ];
  return (
    // It scrolls inside itself where the desk fits one screen: the keyboard must reach it.
    <aside className={styles.facts} aria-label={t("answering.facts")} tabIndex={0}>
      {desk.isSetupChanged ? <Notice kind="caution">{t("answering.setupChanged")}</Notice> : null}
      {desk.symptoms.length > 0 ? (
        <Notice kind="stop" title={t("answering.symptoms")}>
          {desk.symptoms.map((report) => <p key={report.symptoms}>{symptomWords(report.symptoms)}{report.note ? ` “${report.note}”` : ""}</p>)}
        </Notice>
      ) : null}
      {set.photos.map((photo, at) => (
        <CardNotices key={photo.photoId} childId={desk.standing.childId} photoSetId={set.photoSetId} photo={photo} isOpen={desk.answered === null && set.voidReason === null}
          name={t("answering.photoAlt", { n: at + 1, view: t(`answering.view.${photo.view}`) })} />
      ))}
      {set.photos.some((photo) => photo.mirroredFlag && photo.mirrorSettledBy === null) ? <Notice kind="caution">{t("queue.flag.mirrored")}</Notice> : null}
      {set.photos.some((photo) => photo.isCovered) ? <Notice kind="info">{t("answering.covered")}</Notice> : null}
      {set.isOld || set.takenAtSource !== "file" ? <Notice kind="caution">{t("answering.old")}</Notice> : null}
      <div className={styles.brief}>
        <SetupSchematic {...set.resolution.setup} label={setupLabel(set.resolution)} />
        <dl>
          {facts.map(({ term, value }) => <div key={term}><dt>{term}: </dt><dd>{value}</dd></div>)}
        </dl>
      </div>
      {/* Last, or on a low screen "looks right" would stand there without its "not proven". */}
      <AskedLines asked={desk.asked} childId={desk.standing.childId} isOver={desk.answered !== null || set.voidReason !== null} zone={zone} />
    </aside>
  );
}

/** What was answered last, in words and, where it was spoken, in sound. */
function Said({ answer, childId }: { readonly answer: LastAnswer; readonly childId: string }) {
  if (!answer.voice) return answer.summary;
  return <VoicePlayer src={`/media/${childId}/voice/${answer.voice.voiceNoteId}`} words={playerWords(answer.voice.durationMs, DESK)}>{answer.summary}</VoicePlayer>;
}

/** The whole set-up and the whole ledger, for whoever wants more than the brief. */
export function WholeRecord({ desk, zone }: { readonly desk: Desk; readonly zone: string }) {
  const t = say("desk");
  return (
    <>
      <details>
        <summary>{t("answering.setupAll")}</summary>
        <SetupPicture resolution={desk.set.resolution} apexSpot={desk.set.apexSpot} />
      </details>
      <details>
        <summary>{t("answering.ledger")}</summary>
        <LedgerPart standing={desk.standing} zone={zone} />
      </details>
    </>
  );
}

function symptomWords(stored: string): string {
  const keys: unknown = JSON.parse(stored);
  return Array.isArray(keys) ? keys.map((key) => say("family")(`symptom.is.${String(key)}`)).join(". ") : "";
}
