"use client";

import { useRef, useState } from "react";
import { useClips } from "@/app/desk/children/[childId]/sets/[photoSetId]/clip-around";
import styles from "@/app/desk/children/[childId]/sets/[photoSetId]/desk-clip.module.css";
import type { DeskClipWords } from "@/app/desk/children/[childId]/sets/[photoSetId]/desk-clip-words";
import { fill } from "@/app/desk/children/[childId]/sets/[photoSetId]/mark-names";
import { removeMoment, takeMoment } from "@/app/desk/children/[childId]/sets/[photoSetId]/take-moment";
import { Button } from "@/app/ui/button";
import { ClipPlayer, usePlayer, type ClipWords, type ShownClip } from "@/app/ui/clip-player";
import { Notice } from "@/app/ui/notice";
import { secondsOf } from "@/lib/domain/clip/moment";

type Said = { readonly words: string; readonly isProblem: boolean };
const NOTHING: Said = { words: "", isProblem: false };

type Under = {
  readonly childId: string;
  readonly photoId: string;
  readonly clip: ShownClip;
  /** Who takes moments here. */
  readonly by: string;
  readonly canTake: boolean;
  readonly words: DeskClipWords;
};

/** A clip at the desk: a moment of it becomes a picture to draw on, and a part of it what the family is to repeat. */
export const DeskClip = ({ clipWords, ...under }: Under & { readonly clipWords: ClipWords }) =>
  <ClipPlayer clip={under.clip} words={clipWords}><TakingPart {...under} /></ClipPlayer>;

function TakingPart({ childId, photoId, clip, by, canTake, words }: Under) {
  const player = usePlayer();
  const { moments, spans, add, remove, show, give } = useClips();
  const [isTaking, setTaking] = useState(false);
  const [said, setSaid] = useState(NOTHING);
  /** One moment that did not get through goes again under the same key. */
  const last = useRef({ clipMs: -1, key: "" });
  const own = moments.filter(({ momentOf }) => momentOf === photoId);
  const span = spans[photoId] ?? null;
  const atOf = (ms: number) => ({ at: String(secondsOf(ms)) });
  const problem = (code: string, values: Readonly<Record<string, string | number>> = {}) => {
    const sentence = code === "line" || code === "noFrame" || code === "signedOut" ? words[code] : words.problem[code] ?? words.failed;
    setSaid({ words: fill(sentence, values), isProblem: true });
  };

  const take = async () => {
    const film = player?.film();
    if (!film || isTaking) return;
    film.pause();
    const clipMs = Math.min(Math.round(film.currentTime * 1000), clip.durationMs);
    if (last.current.clipMs !== clipMs) last.current = { clipMs, key: crypto.randomUUID() };
    setTaking(true);
    setSaid(NOTHING);
    const took = await takeMoment(film, { childId, photoId, clipMs, isTurnedBack: clip.isTurnedBack, turns: clip.turns }, last.current.key);
    setTaking(false);
    if ("code" in took) return problem(took.code, took.values);
    last.current = { clipMs: -1, key: "" };
    const { moment: { photoId: id }, width, height } = took;
    add({
      photoId: id, momentOf: photoId, clipMs, isHeld: false, width, height, saved: [], levelDegrees: null,
      src: `/media/${childId}/${id}/2048`, thumb: `/media/${childId}/${id}/320`, alt: fill(words.alt, { ...atOf(clipMs), who: by }), short: fill(words.short, atOf(clipMs)),
    });
    setSaid({ words: fill(words.taken, atOf(clipMs)), isProblem: false });
    show(id);
  };
  const takeAway = async (id: string, clipMs: number) => {
    const refused = await removeMoment(childId, id);
    if (refused !== null) return problem(refused);
    remove(id);
    setSaid({ words: fill(words.removed, atOf(clipMs)), isProblem: false });
  };

  const giveIt = () => {
    if (player?.part) give(photoId, player.part);
    setSaid({ words: player?.part ? "" : words.giveHow, isProblem: false });
  };

  if (!player) return null;
  return (
    <div className={styles.under}>
      {canTake ? (
        <div className={styles.row}>
          <Button kind="quiet" aria-disabled={isTaking} onClick={() => void take()}>{isTaking ? words.taking : words.take}</Button>
          <Button kind="quiet" aria-disabled={player.part === null} onClick={giveIt}>{words.give}</Button>
        </div>
      ) : null}
      {span ? (
        <div className={styles.row}>
          <span>{fill(words.given, { from: String(secondsOf(span.fromMs)), to: String(secondsOf(span.toMs)) })}</span>
          <Button kind="quiet" onClick={() => player.repeat(span)}>{words.repeat}</Button>
        </div>
      ) : null}
      {said.isProblem ? <Notice kind="problem">{said.words}</Notice> : <output className={styles.said}>{said.words}</output>}
      {own.length > 0 ? (
        <section aria-label={words.moments}>
          <p className={styles.heading}>{words.moments}</p>
          {canTake ? <p className={styles.said}>{words.only}</p> : null}
          <ul className={styles.moments}>
            {own.map(({ photoId: id, clipMs, thumb, isHeld }) => (
              <li key={id}>
                <img src={thumb} alt="" />
                <Button kind="quiet" onClick={() => player.seek(clipMs)}>{fill(words.seek, atOf(clipMs))}</Button>
                <Button kind="quiet" aria-label={fill(words.drawOf, atOf(clipMs))} onClick={() => show(id)}>{words.draw}</Button>
                {isHeld ? <span className={styles.said}>{words.held}</span>
                  : canTake ? <Button kind="quiet" aria-label={fill(words.removeOf, atOf(clipMs))} onClick={() => void takeAway(id, clipMs)}>{words.remove}</Button> : null}
              </li>
            ))}
          </ul>
        </section>
      ) : null}
    </div>
  );
}
