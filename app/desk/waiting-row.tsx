import Link from "next/link";
import { rowAddress } from "@/app/desk/next-one";
import { patternName, spanWords } from "@/app/desk/queue-words";
import styles from "@/app/desk/queue.module.css";
import { TimeLeft } from "@/app/ui/time-left";
import { isWaiting } from "@/lib/domain/answering/back-question";
import { formatDateTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import type { QueueRow, SetRow } from "@/lib/records/queue";

/** The first words of a question that fit a row. */
const SHOWN_LETTERS = 90;

/** One photo set or question that waits, and how long it still may. */
export function WaitingRow({ row, zone }: { readonly row: QueueRow; readonly zone: string }) {
  const t = say("desk");
  const waits = row.kind === "photo-set" ? row.asked.find(isWaiting) : undefined;
  const what = row.kind === "question" ? say("questions")("row") : say("exercise")(`phases.${row.phase}`);
  return (
    <div className={styles.waiting}>
      <div className={styles.what}>
        <p>
          <Link href={rowAddress(row)} prefetch={false}><strong>{row.childName}</strong></Link>{" "}
          {row.kind === "question" ? <span><strong>{what}</strong>: {row.exerciseTitle}</span> : <span>{row.exerciseTitle}, {what}</span>}
        </p>
        {row.kind === "question" ? <p>“{firstWords(row.words)}”</p> : <OfSet row={row} />}
      </div>
      <div className={styles.when}>
        {waits ? (
          <>
            <p><strong>{t("queue.sinceAsked", { when: formatDateTime(waits.askedAt, zone) })}</strong></p>
            <p>{row.leftMs === 0 ? t("queue.lateOnFamily") : t("queue.leftOnFamily", { time: spanWords(row.leftMs) })}</p>
          </>
        ) : row.dueAt === null ? <p>{t("queue.noDue")}</p> : (
          <>
            <TimeLeft word={t(row.isOverdue ? "queue.late" : "queue.left", { time: spanWords(row.leftMs) })} share={row.leftShare} isOverdue={row.isOverdue} />
            <p>{t("queue.due", { when: formatDateTime(row.dueAt, zone) })}</p>
          </>
        )}
      </div>
    </div>
  );
}

function OfSet({ row }: { readonly row: SetRow }) {
  const t = say("desk");
  const asked = row.asked.at(-1);
  return (
    <>
      {asked && isWaiting(asked) ? <p>{t("queue.askedFamily", { who: asked.askedBy })}: “{firstWords(asked.words)}”</p> : null}
      {asked && asked.newPhotoAt !== null ? <p><strong>{t("queue.familyPhoto")}</strong>: “{firstWords(asked.words)}”</p> : null}
      {asked?.reply ? <p><strong>{t("queue.familySaid", { who: asked.repliedBy ?? "" })}</strong>: “{firstWords(asked.reply)}”</p> : null}
      <p>{row.pattern ? patternName(row.pattern) : t("queue.noPattern")}. {t("answering.check")}: {t(`queue.check.${row.sideCheck ?? "none"}`)}. {t("queue.photos", { n: row.photos })}, {row.nth === 1 ? t("queue.first") : t("queue.nth", { n: row.nth })}.</p>
      {row.flags.length > 0 ? <p><strong>{row.flags.map((flag) => t(`queue.flag.${flag}`)).join(". ")}.</strong></p> : null}
      {row.claim ? <p>{row.claim.isMine ? t("queue.mine") : t("queue.claimed", { name: row.claim.name })}</p> : null}
    </>
  );
}

/** Whole words only, so that nothing reads as another word. */
function firstWords(words: string): string {
  if (words.length <= SHOWN_LETTERS) return words;
  const cut = words.slice(0, SHOWN_LETTERS + 1);
  return `${cut.slice(0, Math.max(cut.lastIndexOf(" "), 1)).trimEnd()} …`;
}
