"use client";

import { useId, useState } from "react";
import { boxFor, step, type Look } from "@/app/desk/children/[childId]/then-and-now/look";
import { Pane } from "@/app/desk/children/[childId]/then-and-now/pane";
import { PhotoPick } from "@/app/desk/children/[childId]/then-and-now/photo-pick";
import styles from "@/app/desk/children/[childId]/then-and-now/then-and-now.module.css";
import type { PairWords, ShownPhoto } from "@/app/desk/children/[childId]/then-and-now/words";
import { Button } from "@/app/ui/button";
import { Caution, Notice } from "@/app/ui/notice";
import { anglesInBoth } from "@/lib/domain/answering/pair-angles";
import { inTime, pairWarnings, spellPair, type PairIds } from "@/lib/domain/answering/pair";
import { WHOLE, type View } from "@/lib/domain/marks/viewport";

/** Sets pairs beside an answer that is being written. */
export type Attaching = { readonly pairs: readonly PairIds[]; readonly isFull: boolean; readonly attach: (pair: PairIds) => void };

/** Any two photos of one child and exercise beside each other; without scripts, two pictures and two lists. */
export function ThenAndNow({ photos, first, words, attaching }: {
  readonly photos: readonly ShownPhoto[];
  readonly first: readonly [ShownPhoto, ShownPhoto];
  readonly words: PairWords;
  readonly attaching?: Attaching;
}) {
  const keysId = useId();
  const [pair, setPair] = useState(first);
  const [views, setViews] = useState<readonly [View, View]>([WHOLE, WHOLE]);
  const [isLinked, setLinked] = useState(true);
  const [areMarksShown, setMarksShown] = useState(true);
  const [active, setActive] = useState<0 | 1>(0);
  const [one, other] = pair;
  const [earlier, later] = inTime(one, other);
  const box = boxFor(pair);
  const look = (at: 0 | 1, how: Look) => setViews(([a, b]) => [isLinked || at === 0 ? how(a, one, box) : a, isLinked || at === 1 ? how(b, other, box) : b]);
  const choose = (at: 0 | 1) => (photo: ShownPhoto) => setPair(at === 0 ? [photo, other] : [one, photo]);
  const swap = () => {
    setPair([other, one]);
    setViews(([a, b]) => [b, a]);
  };
  const caption = (photo: ShownPhoto) => words[earlier.at === later.at ? "sameTime" : photo === earlier ? "earlier" : "later"].replace("{date}", photo.date);
  const pane = (at: 0 | 1) => {
    const photo = pair[at];
    return (
      <Pane photo={photo} view={views[at]} box={box} labels={words.labels} areMarksShown={areMarksShown} isActive={active === at} keysId={keysId}
        onLook={(how) => look(at, how)} onTake={() => setActive(at)}>
        <strong>{caption(photo)}</strong> <span className={styles.about}>{photo.about}</span>
        {photo.isStopped ? <strong className={styles.stopped}>{words.stopped}</strong> : null}
      </Pane>
    );
  };
  const percent = (at: 0 | 1) => String(Math.round(views[at].zoom * 100));
  const isMarked = pair.some((photo) => photo.marks.length > 0);
  return (
    <div className={styles.whole}>
      <div className={styles.picks}>
        <PhotoPick label={words.first} name="first" photos={photos} chosen={one} beside={other} words={words} onChoose={choose(0)} />
        <PhotoPick label={words.second} name="second" photos={photos} chosen={other} beside={one} words={words} onChoose={choose(1)} />
      </div>
      <noscript><Button type="submit" kind="quiet">{words.show}</Button></noscript>
      {pairWarnings(one, other).map((warning) => <Notice key={warning} kind="caution">{words[`warning.${warning}`]}</Notice>)}
      <div className={styles.panes} data-apart={isLinked ? undefined : ""}>
        {pane(0)}
        {pane(1)}
      </div>
      <fieldset className={styles.steps} aria-label={words.tools}>
        {STEPS.map((which) => <Button key={which} kind="quiet" onClick={() => look(active, step(which))}>{words[which]}</Button>)}
        {isLinked ? null : <span className={styles.small}>{words[active === 0 ? "movesFirst" : "movesSecond"]}</span>}
      </fieldset>
      <div className={styles.tools}>
        <Button kind="quiet" aria-pressed={isLinked} onClick={() => setLinked(!isLinked)}>{words.linked}</Button>
        {isMarked ? <Button kind="quiet" aria-pressed={areMarksShown} onClick={() => setMarksShown(!areMarksShown)}>{words.marks}</Button> : null}
        <Button kind="quiet" onClick={swap}>{words.swap}</Button>
        <output className={styles.small}>
          {percent(0) === percent(1) ? words.zoom.replace("{percent}", percent(0)) : words.zoomEach.replace("{percent}", percent(0)).replace("{other}", percent(1))}
        </output>
      </div>
      <Angles earlier={earlier} later={later} words={words} />
      <p id={keysId} className={styles.small}>{words.keys}</p>
      <Caution>{words.caution}</Caution>
      {attaching ? <Attach earlier={earlier} later={later} attaching={attaching} words={words} /> : null}
    </div>
  );
}

const STEPS = ["in", "out", "whole", "left", "right", "up", "down"] as const;

/** What was measured on both. That they differ is never called a change: that is for the therapist to say. */
function Angles({ earlier, later, words }: { readonly earlier: ShownPhoto; readonly later: ShownPhoto; readonly words: PairWords }) {
  return anglesInBoth(earlier, later).map((angle) => (
    <p key={angle.itemKey}>
      {words[angle.areApart ? "anglesApart" : "anglesNear"].replace("{item}", words.items[angle.itemKey] ?? "")
        .replace("{earlier}", String(angle.earlier)).replace("{later}", String(angle.later)).replace("{apart}", String(Math.abs(angle.later - angle.earlier)))}
    </p>
  ));
}

function Attach({ earlier, later, attaching, words }: {
  readonly earlier: ShownPhoto;
  readonly later: ShownPhoto;
  readonly attaching: Attaching;
  readonly words: PairWords;
}) {
  const ids = { thenPhotoId: earlier.photoId, nowPhotoId: later.photoId };
  const isIn = attaching.pairs.some((pair) => spellPair(pair) === spellPair(ids));
  return (
    <div className={styles.tools}>
      {isIn || attaching.isFull ? null : <Button onClick={() => attaching.attach(ids)}>{words.attach}</Button>}
      <output className={styles.small}>{isIn ? words.attached : attaching.isFull ? words.full : ""}</output>
    </div>
  );
}
