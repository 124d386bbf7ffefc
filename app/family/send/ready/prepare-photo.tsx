"use client";

import { useEffect, useState } from "react";
import { CoverStage } from "@/app/family/send/ready/cover-stage";
import { madeReady, type ReadyMade } from "@/app/family/send/ready/made";
import type { ReadyPhoto } from "@/app/family/send/ready/ready";
import type { Words } from "@/app/family/send/steps";
import { Button } from "@/app/ui/button";
import { Notice } from "@/app/ui/notice";
import { Row, Stack } from "@/app/ui/stack";
import { photoAdvice } from "@/lib/domain/photo/advice";
import { hidesCard, turnedCover, turnedPoint, type Cover, type QuarterTurns } from "@/lib/domain/photo/cover";
import type { Quad } from "@/lib/domain/photo/homography";

const QUARTERS = { clockwise: 1, counter: 3 } as const;
type Drawn = { readonly turns: QuarterTurns; readonly bytes: Blob; readonly src: string; readonly width: number; readonly height: number };

/** One photo before anything of it has left: how it is, turned by hand, parts of it covered, and what is saved. */
export function PreparePhoto({ file, ready, words, onUse, onAsItIs, onOther }: {
  readonly file: File;
  /** Null where this browser cannot open the photo. */
  readonly ready: ReadyPhoto | null;
  readonly words: Words;
  readonly onUse: (made: ReadyMade) => void;
  readonly onAsItIs: () => void;
  readonly onOther: () => void;
}) {
  const [turns, setTurns] = useState<QuarterTurns>(0);
  const [covers, setCovers] = useState<readonly Cover[]>([]);
  const [making, setMaking] = useState<"" | "making" | "failed">("");
  const drawn = useDrawn(ready, turns);

  if (!ready || drawn === "failed") {
    return (
      <section aria-label={words["readyAlt"]}>
        <Stack gap="small">
          <Notice kind="info">{words["readyCannot"]}</Notice>
          <Button onClick={onAsItIs}>{words["readyUse"]}</Button>
          <Button kind="quiet" onClick={onOther}>{words["readyOther"]}</Button>
        </Stack>
      </section>
    );
  }

  const { card, measures, size } = ready.opened;
  const advice = photoAdvice({ ...measures, ...size });
  const corners = card?.found === "one" ? cornersSeen(card.reading.corners, card.reading.mirrored, turns) : null;
  const isCardHidden = corners !== null && hidesCard(covers, corners);

  function turn(by: "clockwise" | "counter"): void {
    const quarters = QUARTERS[by];
    setTurns(((turns + quarters) % 4) as QuarterTurns); // a remainder of four
    setCovers(covers.map((cover) => Array.from({ length: quarters }).reduce<Cover>(turnedCover, cover)));
  }

  async function use(photo: ReadyPhoto): Promise<void> {
    if (making === "making") return;
    setMaking("making");
    try {
      const made = await madeReady(photo, file, turns, covers);
      setMaking("");
      onUse(made);
    } catch {
      // A covered part must never go as it was: nothing is sent.
      setMaking("failed");
    }
  }

  return (
    <section aria-label={words["readyAlt"]}>
      <Stack gap="small">
        {advice.length > 0 ? (
          <Notice kind="caution" title={words["adviceTitle"]}>
            {advice.map((each) => <p key={each}>{words[`advice-${each}`]}</p>)}
            <p>{words["adviceFree"]}</p>
            <Button kind="quiet" onClick={onOther}>{words["readyOther"]}</Button>
          </Notice>
        ) : null}
        {card?.found === "several" ? <Notice kind="caution">{words["cardSeveral"]}</Notice> : null}
        {card?.found === "one" ? <Notice kind="info">{words[card.reading.mirrored ? "cardMirroredHere" : "cardSeenHere"]}</Notice> : null}
        {drawn ? (
          <>
            <CoverStage src={drawn.src} size={drawn} covers={covers} words={words} onCovers={setCovers} />
            {isCardHidden ? <Notice kind="caution">{words["coverOnCard"]}</Notice> : null}
            <Row>
              <Button kind="quiet" onClick={() => turn("counter")}>{words["turnCounter"]}</Button>
              <Button kind="quiet" onClick={() => turn("clockwise")}>{words["turnClock"]}</Button>
            </Row>
            <p aria-live="polite">{saved(words["saved"] ?? "", file.size, drawn.bytes.size)}</p>
            {making === "failed" ? <Notice kind="problem">{words["coverFailed"]}</Notice> : null}
            <Button disabled={isCardHidden || drawn.turns !== turns} aria-disabled={making === "making"} onClick={() => void use(ready)}>{words["readyUse"]}</Button>
          </>
        ) : <p>{words["opening"]}</p>}
        {advice.length > 0 ? null : <Button kind="quiet" onClick={onOther}>{words["readyOther"]}</Button>}
      </Stack>
    </section>
  );
}

/** The picture as it would be sent now, uncovered, with an address of its own until it is drawn anew; null while it is drawn first. */
function useDrawn(ready: ReadyPhoto | null, turns: QuarterTurns): Drawn | "failed" | null {
  const [drawn, setDrawn] = useState<Drawn | "failed" | null>(null);
  useEffect(() => {
    let isOver = false;
    let src = "";
    const draw = async (from: ReadyPhoto) => {
      const bytes = new Blob([await from.render(turns, [])], { type: "image/jpeg" });
      const picture = await createImageBitmap(bytes);
      const size = { width: picture.width, height: picture.height };
      picture.close();
      if (isOver) return;
      src = URL.createObjectURL(bytes);
      setDrawn({ turns, bytes, src, ...size });
    };
    if (ready) draw(ready).catch(() => (isOver ? undefined : setDrawn("failed")));
    return () => {
      isOver = true;
      URL.revokeObjectURL(src);
    };
  }, [ready, turns]);
  return drawn;
}

/** Where the card stands in the picture on the screen: as it came, turned by hand. */
function cornersSeen(corners: Quad, isMirror: boolean, turns: QuarterTurns): Quad {
  const seen = corners.map(({ x, y }) => Array.from({ length: turns }).reduce<{ x: number; y: number }>(turnedPoint, { x: isMirror ? 1 - x : x, y }));
  return seen as unknown as Quad; // four in, four out
}

const megabytes = (bytes: number): string => (bytes / 1e6).toFixed(1);
const saved = (sentence: string, from: number, to: number): string => sentence.replace("{from}", megabytes(from)).replace("{to}", megabytes(to));
