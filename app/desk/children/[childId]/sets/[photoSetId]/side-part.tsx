import { LedgerPart } from "@/app/desk/children/[childId]/ledger-part";
import { SetupPicture } from "@/app/desk/children/[childId]/setup/setup-picture";
import styles from "@/app/desk/children/[childId]/sets/[photoSetId]/answering.module.css";
import { patternWords } from "@/app/desk/families/words";
import { Notice } from "@/app/ui/notice";
import { DefinitionRows } from "@/app/ui/ruled";
import { SideWord } from "@/app/ui/side-word";
import { formatDateTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import type { Desk } from "@/lib/records/answering";

/** What a photo is judged by: the side in words, the side check, the family's words, what was said last. */
export function SidePart({ desk, zone }: { readonly desk: Desk; readonly zone: string }) {
  const t = say("desk");
  const { set, standing } = desk;
  const { record } = standing;
  return (
    <div className={styles.judged}>
      <p className={styles.side}>
        {t("answering.setup")} <SideWord>{say("common")("side", { side: set.resolution.setup.lieOn })}</SideWord>
        {record ? <span>{` · ${patternWords(record.record)}`}</span> : null}
      </p>
      {desk.isSetupChanged ? <Notice kind="caution">{t("answering.setupChanged")}</Notice> : null}
      {desk.symptoms.length > 0 ? (
        <Notice kind="stop" title={t("answering.symptoms")}>
          {desk.symptoms.map((report) => <p key={report.symptoms}>{symptomWords(report.symptoms)}{report.note ? ` “${report.note}”` : ""}</p>)}
        </Notice>
      ) : null}
      {set.photos.some((photo) => photo.mirroredFlag) ? <Notice kind="caution">{t("queue.flag.mirrored")}</Notice> : null}
      {set.isOld || set.takenAtSource !== "file" ? <Notice kind="caution">{t("answering.old")}</Notice> : null}
      <DefinitionRows rows={[
        { term: t("answering.check"), value: <>{set.photos.map((photo, at) => (
          <span key={photo.photoId} className={styles.check}>{t("answering.photoAlt", { n: at + 1, view: t(`answering.view.${photo.view}`) })}: {t(`queue.check.${photo.sideCheck ?? "none"}`)}. </span>
        ))}{t("answering.checkAdvice")}</> },
        { term: t("answering.note"), value: set.note || t("answering.noNote") },
        ...(desk.lastAnswer ? [{ term: t("answering.last", { when: formatDateTime(desk.lastAnswer.answeredAt, zone), who: desk.lastAnswer.by }), value: desk.lastAnswer.summary }] : []),
      ]} />
      <details>
        <summary>{t("answering.setupAll")}</summary>
        <SetupPicture resolution={set.resolution} apexSpot={set.apexSpot} />
      </details>
      <details>
        <summary>{t("answering.ledger")}</summary>
        <LedgerPart standing={standing} zone={zone} />
      </details>
    </div>
  );
}

function symptomWords(stored: string): string {
  const keys: unknown = JSON.parse(stored);
  return Array.isArray(keys) ? keys.map((key) => say("family")(`symptom.is.${String(key)}`)).join(". ") : "";
}
