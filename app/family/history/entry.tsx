import Link from "next/link";
import styles from "@/app/family/family.module.css";
import { turnsOf } from "@/app/family/ask/thread-words";
import { askedTurns } from "@/app/family/asked/words";
import { expectSaid } from "@/app/family/expectation";
import { AnsweredClip } from "@/app/family/history/answered-clip";
import { PairOfPhotos } from "@/app/family/history/pair-of-photos";
import { ButtonLink } from "@/app/ui/button";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { PhotoFrame } from "@/app/ui/photo-frame";
import { Said } from "@/app/ui/said";
import { Row } from "@/app/ui/stack";
import { Thread } from "@/app/ui/thread";
import { VerdictMark } from "@/app/ui/verdict-mark";
import { VoicePlayer } from "@/app/ui/voice-player";
import type { Actor } from "@/lib/access/actor";
import { isWaiting, pausesOf } from "@/lib/domain/answering/back-question";
import { formatDate, formatDateTime } from "@/lib/domain/time/format";
import { playerWords } from "@/lib/messages/player-words";
import { say } from "@/lib/messages/say";
import type { HistoryEntry } from "@/lib/records/answers-read";
import type { GivenAnswer } from "@/lib/records/given-answers";
import type { ExerciseNames } from "@/lib/records/exercise-names";
import type { PracticeClock } from "@/lib/records/family-home";

/** One photo set with its answer; a voided one says so and nothing more. */
export function Entry({ entry, childId, mayErase, expiresAt, actor, clock, now }: {
  readonly entry: HistoryEntry;
  readonly childId: string;
  /** Of who decides for the child. */
  readonly mayErase: boolean;
  /** When its photos go by age, once the family was told. */
  readonly expiresAt: number | null;
  readonly actor: Actor;
  readonly clock: PracticeClock;
  readonly now: number;
}) {
  const { answer } = entry;
  const { reader } = actor;
  const family = say("family", reader);
  const erasing = say("erasing", reader);
  const dated = (at: number) => ({ date: formatDate(at, actor.timeZone, reader.locale) });
  return (
    <article className={styles.card} aria-labelledby={`set-${entry.photoSetId}`}>
      <Heading level={3} id={`set-${entry.photoSetId}`}>{family("history.sent", { date: formatDateTime(entry.sentAt, actor.timeZone, reader.locale), who: entry.sentBy })}</Heading>
      {entry.voidReason ? <Notice kind="caution">{family(`history.void-${entry.voidReason}`)}</Notice> : null}
      {entry.isOld ? <p className={styles.small}>{family("history.old")}</p> : null}
      {entry.pictures.length > 0 ? (
        <div className={styles.pictures}>
          {entry.pictures.map(({ photoId, view, width, height, isMarked, isTurnedBack }) => (
            <PhotoFrame key={photoId} src={`/media/${childId}/${photoId}/${isMarked ? "marked" : "1024"}`} width={width} height={height} {...(isTurnedBack ? { caption: say("cards", reader)("send.cardTurnedBack") } : {})}
              alt={family(isMarked ? "history.markedAlt" : "history.photoAlt", { view: family(`history.viewIs.${view}`) })} />
          ))}
        </div>
      ) : null}
      {entry.pictures.map(({ photoId, view, clip, isTurnedBack }) => (clip ? (
        <AnsweredClip key={photoId} entry={entry} photoId={photoId} childId={childId} clip={{ ...clip, src: `/media/${childId}/${photoId}/clip`, isTurnedBack }} view={family(`history.viewIs.${view}`)} reader={reader} />
      ) : null))}
      {entry.photosErasedAt === null ? null : <p className={styles.small}>{erasing("erasedOn", dated(entry.photosErasedAt))}</p>}
      {entry.setAside > 0 ? <p className={styles.small}>{erasing("setAside", { n: entry.setAside })}</p> : null}
      {expiresAt !== null && entry.pictures.length > 0 ? <Notice kind="info">{erasing("expires", dated(expiresAt))}</Notice> : null}
      {entry.note ? <p>{family("history.yourNote")}: {entry.note}</p> : null}
      {answer && entry.voidReason !== "wrong-child" ? <Answered answer={answer} childId={childId} names={entry.names} actor={actor} now={now} /> : null}
      {answer && !entry.voidReason ? <Row><ButtonLink kind="quiet" href={`/family/ask/${childId}/${entry.photoSetId}`}>{say("questions", reader)("ask")}</ButtonLink></Row> : null}
      {entry.earlier.length > 0 && entry.voidReason !== "wrong-child" ? (
        <details>
          <summary>{family("history.earlier", { n: entry.earlier.length })}</summary>
          {entry.earlier.map((each) => <Answered key={each.answerId} answer={each} childId={childId} names={entry.names} actor={actor} now={now} />)}
        </details>
      ) : null}
      <Asked entry={entry} childId={childId} actor={actor} />
      {!answer && !entry.voidReason ? <p>{expectSaid("photo-set", entry.sentAt, actor, now, clock, pausesOf(entry.asked, null))}</p> : null}
      {mayErase && entry.pictures.length > 0 ? <p className={styles.small}><Link href={`/family/erase/${childId}/${entry.photoSetId}`} prefetch={false}>{erasing("setLink")}</Link></p> : null}
    </article>
  );
}

/** What the therapist asked about these photos, and where to answer it while that is open. */
function Asked({ entry: { asked, answer, voidReason, photoSetId }, childId, actor }: { readonly entry: HistoryEntry; readonly childId: string; readonly actor: Actor }) {
  const t = say("questions", actor.reader);
  const isOver = answer !== null || voidReason !== null;
  if (asked.length === 0 || voidReason === "wrong-child") return null;
  return (
    <>
      <Thread label={t("back.thread")} turns={askedTurns(asked, isOver, actor)} />
      {!isOver && asked.some(isWaiting) ? <Row><ButtonLink href={`/family/asked/${childId}/${photoSetId}`}>{t("back.go")}</ButtonLink></Row> : null}
    </>
  );
}

function Answered({ answer, childId, names, actor, now }: { readonly answer: GivenAnswer; readonly childId: string; readonly names: ExerciseNames; readonly actor: Actor; readonly now: number }) {
  const { timeZone: zone, reader } = actor;
  const family = say("family", reader);
  return (
    <>
      <p className={styles.small}>{family(answer.version > 1 ? "history.changed" : "history.answered", { date: formatDateTime(answer.answeredAt, zone, reader.locale), who: answer.answeredBy, reason: answer.amendReason })}</p>
      {answer.kind === "take-again" ? <p><strong>{family("history.again")}</strong></p> : null}
      {answer.voice ? (
        <VoicePlayer src={`/media/${childId}/voice/${answer.voice.voiceNoteId}`} words={playerWords(answer.voice.durationMs, reader)}><p>{answer.summary}</p></VoicePlayer>
      ) : <p>{answer.summary}</p>}
      {answer.verdicts.length > 0 ? (
        <ul className={styles.list}>
          {answer.verdicts.map(({ verdict, ...given }) => {
            const [title, cue] = [names.itemTitle(given.itemKey), names.cue(given)];
            return (
              <li key={given.itemKey}>
                <Said words={title} part={title} lang={names.languageOf(title)} />: <VerdictMark verdict={verdict} word={family(`verdict.${verdict}`)} />
                {cue ? <> <Said words={cue} part={cue} lang={names.languageOf(cue)} /></> : null}
              </li>
            );
          })}
        </ul>
      ) : null}
      {answer.pairs.map((pair) => <PairOfPhotos key={pair.map((photo) => photo.photoId).join(" ")} pair={pair} childId={childId} zone={zone} reader={reader} />)}
      <p>{family(`history.next.${answer.nextStep}`)} {answer.nextView ? family("history.nextView", { view: family(`history.viewIs.${answer.nextView}`) }) : null}</p>
      {answer.thread.length > 0 ? <Thread label={say("questions", reader)("list")} turns={turnsOf(answer.thread, actor, now)} /> : null}
    </>
  );
}
