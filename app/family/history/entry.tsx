import styles from "@/app/family/family.module.css";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { PhotoFrame } from "@/app/ui/photo-frame";
import { VerdictMark } from "@/app/ui/verdict-mark";
import type { Actor } from "@/lib/access/actor";
import { formatDateTime, formatTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import type { GivenAnswer, HistoryEntry } from "@/lib/records/answers-read";
import type { Opening } from "@/lib/records/family-home";

const family = say("family");
const exercise = say("exercise");

/** One photo set with its answer; a voided one says so and nothing more. */
export function Entry({ entry, childId, actor, dueAt, opening }: {
  readonly entry: HistoryEntry;
  readonly childId: string;
  readonly actor: Actor;
  readonly dueAt: number | null;
  readonly opening: Opening;
}) {
  const { answer } = entry;
  return (
    <article className={styles.card}>
      <Heading level={3}>{family("history.sent", { date: formatDateTime(entry.sentAt, actor.timeZone), who: entry.sentBy })}</Heading>
      {entry.voidReason ? <Notice kind="caution">{family(`history.void-${entry.voidReason}`)}</Notice> : null}
      {entry.isOld ? <p className={styles.small}>{family("history.old")}</p> : null}
      {entry.pictures.length > 0 ? (
        <div className={styles.pictures}>
          {entry.pictures.map(({ photoId, view, width, height, isMarked }) => (
            <PhotoFrame key={photoId} src={`/media/${childId}/${photoId}/${isMarked ? "marked" : "1024"}`} width={width} height={height}
              alt={family(isMarked ? "history.markedAlt" : "history.photoAlt", { view: family(`history.viewIs.${view}`) })} />
          ))}
        </div>
      ) : null}
      {entry.note ? <p>{family("history.yourNote")}: {entry.note}</p> : null}
      {answer && entry.voidReason !== "wrong-child" ? <Answered answer={answer} zone={actor.timeZone} /> : null}
      {!answer && !entry.voidReason ? <p>{waiting(dueAt, opening, actor.timeZone)}</p> : null}
    </article>
  );
}

function Answered({ answer, zone }: { readonly answer: GivenAnswer; readonly zone: string }) {
  return (
    <>
      <p className={styles.small}>{family("history.answered", { date: formatDateTime(answer.answeredAt, zone), who: answer.answeredBy })}</p>
      {answer.kind === "take-again" ? <p><strong>{family("history.again")}</strong></p> : null}
      <p>{answer.summary}</p>
      {answer.verdicts.length > 0 ? (
        <ul className={styles.list}>
          {answer.verdicts.map(({ itemKey, verdict, cue }) => (
            <li key={itemKey}>
              {exercise(`items.${itemKey}.title`)}: <VerdictMark verdict={verdict} word={family(`verdict.${verdict}`)} />
              {cue ? <> {cue}</> : null}
            </li>
          ))}
        </ul>
      ) : null}
      <p>{family(`history.next.${answer.nextStep}`)} {answer.nextView ? family("history.nextView", { view: family(`history.viewIs.${answer.nextView}`) }) : null}</p>
    </>
  );
}

function waiting(dueAt: number | null, { isOpenNow, opensAt }: Opening, zone: string): string {
  if (dueAt === null) return family("history.waitsUnknown");
  const due = formatTime(dueAt, zone);
  if (isOpenNow || opensAt === null) return family("history.waitsOpen", { due });
  return family("history.waits", { due, opens: formatTime(opensAt, zone) });
}
