import { draftRows, type DraftWords } from "@/app/desk/children/[childId]/sets/[photoSetId]/draft-rows";
import { versionWords } from "@/app/desk/children/[childId]/sets/[photoSetId]/keeper-words";
import { TwoVersions } from "@/app/desk/children/[childId]/sets/[photoSetId]/two-versions";
import { ButtonLink } from "@/app/ui/button";
import { Notice } from "@/app/ui/notice";
import { Row, Stack } from "@/app/ui/stack";
import { VerdictMark } from "@/app/ui/verdict-mark";
import { VoicePlayer } from "@/app/ui/voice-player";
import type { DraftFields } from "@/lib/domain/answering/draft-fields";
import { formatDate, formatDateTime, formatTime } from "@/lib/domain/time/format";
import { DESK } from "@/lib/domain/words/reader";
import { playerWords } from "@/lib/messages/player-words";
import { say } from "@/lib/messages/say";
import type { LastAnswer } from "@/lib/records/answering";
import type { GivenAnswer } from "@/lib/records/given-answers";
import type { ExerciseNames } from "@/lib/records/exercise-names";

/** What became of an answered set: its versions, newest first, and what this person wrote beside it. */
export function AnswerState({ childId, answered, versions, mine, as, names, words, zone, now, late, isAmending, mayAmend }: {
  readonly childId: string;
  readonly answered: LastAnswer;
  readonly versions: readonly GivenAnswer[];
  /** This person's own unsent draft; null when there is none. */
  readonly mine: DraftFields | null;
  /** The newest version as a draft would hold it. */
  readonly as: DraftFields;
  readonly names: ExerciseNames;
  readonly words: DraftWords;
  readonly zone: string;
  readonly now: number;
  /** Somebody was quicker, with an answer or with an amendment. */
  readonly late: "answer" | "amend" | null;
  readonly isAmending: boolean;
  readonly mayAmend: boolean;
}) {
  const t = say("drafts");
  const isOut = answered.publishedAt <= now;
  const [newest, ...earlier] = versions;
  const address = "?amend=yes";
  return (
    <Stack>
      {late ? <Notice kind="problem">{t(late === "answer" ? "lateAnswer" : "lateAmend", { who: answered.by })}</Notice> : null}
      {isAmending ? <Notice kind="caution">{t("amending")}</Notice> : null}
      {isOut ? null : <Notice kind="info">{t(answered.isMine ? "pendingMine" : "pending", { who: answered.by, when: formatTime(answered.publishedAt, zone) })}</Notice>}
      {newest ? <Version answer={newest} childId={childId} names={names} zone={zone} /> : null}
      {mine ? (
        <>
          <p><strong>{t("mineKept")}</strong></p>
          <TwoVersions rows={draftRows(mine, as, words)} words={{ ...versionWords(), one: t("yours"), two: t("theirs") }} />
        </>
      ) : null}
      {isOut && mayAmend && !isAmending ? <Row><ButtonLink kind="quiet" href={address}>{t(mine ? "amendWithMine" : "amend")}</ButtonLink></Row> : null}
      {earlier.length > 0 ? (
        <details>
          <summary>{t("earlier", { n: earlier.length })}</summary>
          <Stack>{earlier.map((answer) => <Version key={answer.answerId} answer={answer} childId={childId} names={names} zone={zone} />)}</Stack>
        </details>
      ) : null}
    </Stack>
  );
}

function Version({ answer, childId, names, zone }: { readonly answer: GivenAnswer; readonly childId: string; readonly names: ExerciseNames; readonly zone: string }) {
  const t = say("drafts");
  const desk = say("desk");
  const pairs = say("pairs");
  const when = formatDateTime(answer.answeredAt, zone);
  return (
    <div>
      <p><strong>{answer.version > 1 ? t("changed", { when, who: answer.answeredBy, reason: answer.amendReason }) : t("answered", { when, who: answer.answeredBy })}</strong></p>
      {answer.kind === "take-again" ? <p>{t("againAsked")}</p> : null}
      {answer.voice ? <VoicePlayer src={`/media/${childId}/voice/${answer.voice.voiceNoteId}`} words={playerWords(answer.voice.durationMs, DESK)}><p>{answer.summary}</p></VoicePlayer> : <p>{answer.summary}</p>}
      <ul>
        {answer.verdicts.map(({ itemKey, verdict, cue }) => (
          <li key={itemKey}>{names.itemTitle(itemKey)}: <VerdictMark verdict={verdict} word={desk(`answering.verdict.${verdict}`)} />{cue ? ` ${cue}` : ""}</li>
        ))}
      </ul>
      {answer.pairs.map(([earlier, later]) => (
        <p key={`${earlier.photoId} ${later.photoId}`}>{pairs("title")}: {pairs("pair", { first: formatDate(earlier.at, zone), second: formatDate(later.at, zone) })}</p>
      ))}
      <p>{desk("answering.nextStep")}: {desk(`answering.step.${answer.nextStep}`)}</p>
    </div>
  );
}
