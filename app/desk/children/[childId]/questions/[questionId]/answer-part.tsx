import { Heading } from "@/app/ui/heading";
import { PhotoFrame } from "@/app/ui/photo-frame";
import { Stack } from "@/app/ui/stack";
import { VerdictMark } from "@/app/ui/verdict-mark";
import { VoicePlayer } from "@/app/ui/voice-player";
import { secondsOf } from "@/lib/domain/clip/moment";
import { DESK } from "@/lib/domain/words/reader";
import { playerWords } from "@/lib/messages/player-words";
import { say } from "@/lib/messages/say";
import type { MarkedMoment, Picture } from "@/lib/records/answers-read";
import type { GivenAnswer } from "@/lib/records/given-answers";
import type { ExerciseNames } from "@/lib/records/exercise-names";

/** What the family read: words, sound, verdicts and the pictures as they were marked. */
export function AnswerPart({ childId, answer, names, pictures, moments }: {
  readonly childId: string;
  readonly answer: GivenAnswer;
  readonly names: ExerciseNames | null;
  readonly pictures: readonly Picture[];
  readonly moments: readonly MarkedMoment[];
}) {
  const t = say("questions");
  const desk = say("desk");
  return (
    <Stack>
      <Heading level={2}>{t("desk.answer")}</Heading>
      {answer.voice ? (
        <VoicePlayer src={`/media/${childId}/voice/${answer.voice.voiceNoteId}`} words={playerWords(answer.voice.durationMs, DESK)}><p>{answer.summary}</p></VoicePlayer>
      ) : <p>{answer.summary}</p>}
      {answer.verdicts.length > 0 ? (
        <ul>
          {answer.verdicts.map(({ itemKey, verdict, cue }) => (
            <li key={itemKey}>{names?.itemTitle(itemKey) ?? itemKey}: <VerdictMark verdict={verdict} word={desk(`answering.verdict.${verdict}`)} />{cue ? ` ${cue}` : ""}</li>
          ))}
        </ul>
      ) : null}
      {pictures.length === 0 ? <p>{t("desk.photosOff")}</p> : pictures.map(({ photoId, view, width, height, isMarked }) => (
        <PhotoFrame key={photoId} src={`/media/${childId}/${photoId}/${isMarked ? "marked" : "1024"}`} width={width} height={height}
          alt={t(isMarked ? "desk.markedAlt" : "desk.photoAlt", { view: desk(`answering.view.${view}`) })} />
      ))}
      {moments.map(({ photoId, clipMs, width, height }) => (
        <PhotoFrame key={photoId} src={`/media/${childId}/${photoId}/marked`} width={width} height={height} alt={say("clip")("momentAlt", { at: secondsOf(clipMs) })} />
      ))}
    </Stack>
  );
}
