import type { ShownClip } from "@/app/ui/clip-player";
import { MarkedClip } from "@/app/ui/marked-clip";
import { PhotoFrame } from "@/app/ui/photo-frame";
import { secondsOf } from "@/lib/domain/clip/moment";
import type { Reader } from "@/lib/domain/words/reader";
import { clipWords } from "@/lib/messages/clip-words";
import { say } from "@/lib/messages/say";
import type { HistoryEntry } from "@/lib/records/answers-read";

/** The clip of one photo, with what the answer in force marked in it. */
export function AnsweredClip({ entry: { answer, moments }, photoId, childId, clip, view, reader }: {
  readonly entry: HistoryEntry;
  readonly photoId: string;
  readonly childId: string;
  readonly clip: ShownClip;
  /** In words. */
  readonly view: string;
  readonly reader: Reader;
}) {
  const said = say("clip", reader);
  const span = answer?.spans.find((each) => each.photoId === photoId) ?? null;
  const shown = moments.filter(({ momentOf }) => momentOf === photoId).map(({ photoId: id, clipMs, by, width, height, isTurnedBack }) => {
    const at = secondsOf(clipMs);
    const caption = [said("momentBy", { at, who: by }), ...(isTurnedBack ? [say("cards", reader)("send.cardTurnedBack")] : [])].join(" ");
    return { photoId: id, clipMs, at: said("at", { at }), picture: <PhotoFrame src={`/media/${childId}/${id}/marked`} width={width} height={height} alt={said("momentAlt", { at })} caption={caption} /> };
  });
  const words = {
    ...clipWords(clip.durationMs, view, reader), marked: said("marked"), repeat: said("repeat"),
    repeats: span ? said("repeats", { from: secondsOf(span.fromMs), to: secondsOf(span.toMs) }) : "",
  };
  return <MarkedClip clip={clip} span={span} moments={shown} words={words} />;
}
