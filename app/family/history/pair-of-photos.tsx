import styles from "@/app/family/family.module.css";
import { Notice } from "@/app/ui/notice";
import { PhotoFrame } from "@/app/ui/photo-frame";
import { pairWarnings } from "@/lib/domain/answering/pair";
import { secondsOf } from "@/lib/domain/clip/moment";
import { formatDate } from "@/lib/domain/time/format";
import type { Reader } from "@/lib/domain/words/reader";
import { say } from "@/lib/messages/say";
import type { ComparablePhoto, GivenPair } from "@/lib/records/pairs";

/** Two photos that the therapist set side by side, the earlier one first, with what keeps them from being copied or misread. */
export function PairOfPhotos({ pair, childId, zone, reader }: { readonly pair: GivenPair; readonly childId: string; readonly zone: string; readonly reader: Reader }) {
  const words = say("pairs", reader);
  const [earlier, later] = pair;
  const frame = (photo: ComparablePhoto, when: "earlier" | "later") => {
    const date = formatDate(photo.at, zone, reader.locale);
    const isMarked = photo.marks.length > 0;
    const seen = words(`view.${photo.view}`);
    const view = photo.clipMs === null ? seen : words("ofClip", { view: seen, at: secondsOf(photo.clipMs) });
    return (
      <PhotoFrame key={photo.photoId} src={`/media/${childId}/${photo.photoId}/${isMarked ? "marked" : "1024"}`} width={photo.width} height={photo.height}
        alt={words(isMarked ? "markedAlt" : "alt", { date, view })}
        caption={<>{words(earlier.at === later.at ? "sameTime" : when, { date })}{photo.isStopped ? <strong className={styles.notThis}>{words("family.stopped")}</strong> : null}</>} />
    );
  };
  return (
    <section className={styles.pair} aria-label={words("title")}>
      <p><strong>{words("title")}</strong></p>
      {pairWarnings(earlier, later).map((warning) => <Notice key={warning} kind={warning === "sides-changed" ? "caution" : "info"}>{words(`family.${warning}`)}</Notice>)}
      <div className={styles.two}>{frame(earlier, "earlier")}{frame(later, "later")}</div>
    </section>
  );
}
