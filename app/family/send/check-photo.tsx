"use client";

import { useState } from "react";
import { CardNotices } from "@/app/family/send/card-notices";
import { HeadStage } from "@/app/family/send/head-stage";
import styles from "@/app/family/send/send.module.css";
import { SideStop } from "@/app/family/send/side-stop";
import { saidOf, srcOf, type Facing, type Photo, type Words } from "@/app/family/send/steps";
import { turnPhoto } from "@/app/family/send/upload";
import { ViewSelect } from "@/app/family/send/view-select";
import { Button } from "@/app/ui/button";
import { Notice } from "@/app/ui/notice";
import { Row, Stack } from "@/app/ui/stack";
import type { Side } from "@/lib/domain/sides";

const FACINGS: readonly (readonly [Facing, string])[] = [["back", "facingBack"], ["front", "facingFront"], ["unsure", "facingUnsure"]];

/** Where the two buttons say that the head is: far out, in the middle of the height. */
const [HEAD_LEFT, HEAD_RIGHT] = [{ x: 0.1, y: 0.5 }, { x: 0.9, y: 0.5 }];

/** Floor down, head tapped, front or back: then the side check, at once. Turning asks again. Never a flip. */
export function CheckPhoto({ photo, childId, lieOn, words, onChange, onRemove }: {
  readonly photo: Photo;
  readonly childId: string;
  readonly lieOn: Side;
  readonly words: Words;
  readonly onChange: (photo: Photo) => void;
  readonly onRemove: () => void;
}) {
  const [turning, setTurning] = useState<"" | "turning" | "lost">("");
  const said = saidOf(photo, lieOn);
  const src = srcOf(photo, childId);
  // The server's own picture is turned back already.
  const isFlipped = photo.isTurnedBack && photo.place.on === "phone";
  const asked = { head: null, facing: null };

  async function turn(quarters: 1 | 2 | 3): Promise<void> {
    if (turning === "turning") return;
    setTurning("turning");
    const turned = await turnedPhoto(photo, childId, quarters);
    setTurning(turned ? "" : "lost");
    if (turned) onChange({ ...turned, ...asked, isFloorDown: false });
  }

  return (
    <Stack gap="small">
      {photo.advice.length > 0 ? (
        <Notice kind="caution" title={words["adviceTitle"]}>
          {photo.advice.map((each) => <p key={each}>{words[`advice-${each}`]}</p>)}
          <p>{words["adviceFree"]}</p>
        </Notice>
      ) : null}
      <CardNotices photo={photo} words={words} isTurning={turning === "turning"} onTurn={(quarters) => void turn(quarters)} />
      {photo.isFloorDown ? (
        <>
          <p key="head" data-arrival>{words["headLead"]}</p>
          <HeadStage src={src} isFlipped={isFlipped} width={photo.width} height={photo.height} label={words["headLead"] ?? ""} head={photo.head}
            onHead={(head) => onChange({ ...photo, head })} />
          <Row>
            <Button kind="quiet" aria-pressed={photo.head?.x === HEAD_LEFT.x} onClick={() => onChange({ ...photo, head: HEAD_LEFT })}>{words["headLeft"]}</Button>
            <Button kind="quiet" aria-pressed={photo.head?.x === HEAD_RIGHT.x} onClick={() => onChange({ ...photo, head: HEAD_RIGHT })}>{words["headRight"]}</Button>
          </Row>
          <p aria-live="polite">{photo.head ? words["headSet"] : null}</p>
          <fieldset>
            <legend>{words["facing"]}</legend>
            <Row>
              {FACINGS.map(([facing, word]) => (
                <Button key={facing} kind={photo.facing === facing ? "primary" : "quiet"} aria-pressed={photo.facing === facing}
                  onClick={() => onChange({ ...photo, facing })}>{words[word]}</Button>
              ))}
            </Row>
          </fieldset>
        </>
      ) : (
        <>
          <p key="turn" data-arrival>{words["turnLead"]}</p>
          <img src={src} alt="" width={photo.width} height={photo.height} className={styles.picture} data-flipped={isFlipped} />
          <Row>
            <Button kind="quiet" aria-disabled={turning === "turning"} onClick={() => void turn(3)}>{words["turnCounter"]}</Button>
            <Button kind="quiet" aria-disabled={turning === "turning"} onClick={() => void turn(1)}>{words["turnClock"]}</Button>
            <Button disabled={turning === "turning"} onClick={() => onChange({ ...photo, isFloorDown: true })}>{words["floorDown"]}</Button>
          </Row>
        </>
      )}
      {photo.isFloorDown ? <Button kind="quiet" onClick={() => onChange({ ...photo, ...asked, isFloorDown: false })}>{words["turnLead"]}</Button> : null}
      <div aria-live="polite">
        {turning === "turning" ? <p>{words["turning"]}</p> : null}
        {turning === "lost" ? <p>{words["lost"]}</p> : null}
        {said === "disagree" ? <Notice kind="caution">{words["disagree"]}</Notice> : null}
        {said === "matches" ? <Notice kind="info">{words["cardProven"]}</Notice> : null}
        {said === "looks-right" ? <Notice kind="info">{words["unproven"]}</Notice> : null}
        {said === "cannot-tell" ? <Notice kind="info">{words["cannotTell"]}</Notice> : null}
      </div>
      {said === "disagree" ? <ViewSelect value={photo.view} words={words} onView={(view) => onChange({ ...photo, view })} /> : null}
      {said === "opposite" ? <SideStop words={words} isProven={photo.isMirrorSettled} onNew={onRemove} onTaps={() => onChange({ ...photo, ...asked })} /> : null}
      <Button kind="quiet" onClick={onRemove}>{words["remove"]}</Button>
    </Stack>
  );
}

/** Null when it did not work; the photo is then as it was. */
async function turnedPhoto(photo: Photo, childId: string, quarters: 1 | 2 | 3): Promise<Photo | null> {
  const { place } = photo;
  if (place.on === "server") {
    const turned = await turnPhoto(childId, place.photoId, quarters);
    return turned && { ...photo, ...turned, place: { ...place, turns: place.turns + 1 } };
  }
  const made = await place.made.turned(quarters).catch(() => null);
  if (!made) return null;
  const card = photo.card?.found === "one" && made.card?.found === "one" ? { ...photo.card, turnToUpright: made.card.reading.turnToUpright } : photo.card;
  return { ...photo, place: { on: "phone", made }, width: made.width, height: made.height, card };
}
