"use client";

import { useState } from "react";
import { ViewSelect } from "@/app/family/send/add-photo";
import { HeadStage } from "@/app/family/send/head-stage";
import { SideStop } from "@/app/family/send/side-stop";
import { saidOf, type Facing, type Photo, type Words } from "@/app/family/send/steps";
import { turnPhoto } from "@/app/family/send/upload";
import { Button } from "@/app/ui/button";
import { Notice } from "@/app/ui/notice";
import { Row, Stack } from "@/app/ui/stack";
import type { Side } from "@/lib/domain/sides";

const FACINGS: readonly (readonly [Facing, string])[] = [["back", "facingBack"], ["front", "facingFront"], ["unsure", "facingUnsure"]];

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
  const src = `/media/${childId}/${photo.photoId}/1024?turns=${photo.turns}`;
  const asked = { head: null, facing: null };

  async function turn(quarters: 1 | 3): Promise<void> {
    setTurning("turning");
    const size = await turnPhoto(childId, photo.photoId, quarters);
    setTurning(size ? "" : "lost");
    if (size) onChange({ ...photo, ...size, ...asked, turns: photo.turns + 1, isFloorDown: false });
  }

  return (
    <Stack gap="small">
      {photo.advice.length > 0 ? (
        <Notice kind="caution" title={words["adviceTitle"]}>
          {photo.advice.map((each) => <p key={each}>{words[`advice-${each}`]}</p>)}
          <p>{words["adviceFree"]}</p>
        </Notice>
      ) : null}
      {photo.isFloorDown ? (
        <>
          <p>{words["headLead"]}</p>
          <HeadStage src={src} width={photo.width} height={photo.height} label={words["headLead"] ?? ""} head={photo.head}
            onHead={(head) => onChange({ ...photo, head })} />
          <Row>
            <Button kind="quiet" onClick={() => onChange({ ...photo, head: { x: 0.1, y: 0.5 } })}>{words["headLeft"]}</Button>
            <Button kind="quiet" onClick={() => onChange({ ...photo, head: { x: 0.9, y: 0.5 } })}>{words["headRight"]}</Button>
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
          <p>{words["turnLead"]}</p>
          <img src={src} alt="" width={photo.width} height={photo.height} />
          <Row>
            <Button kind="quiet" disabled={turning === "turning"} onClick={() => void turn(3)}>{words["turnCounter"]}</Button>
            <Button kind="quiet" disabled={turning === "turning"} onClick={() => void turn(1)}>{words["turnClock"]}</Button>
            <Button disabled={turning === "turning"} onClick={() => onChange({ ...photo, isFloorDown: true })}>{words["floorDown"]}</Button>
          </Row>
        </>
      )}
      {photo.isFloorDown ? <Button kind="quiet" onClick={() => onChange({ ...photo, ...asked, isFloorDown: false })}>{words["turnLead"]}</Button> : null}
      <div aria-live="polite">
        {turning === "turning" ? <p>{words["turning"]}</p> : null}
        {turning === "lost" ? <p>{words["lost"]}</p> : null}
        {said === "disagree" ? <Notice kind="caution">{words["disagree"]}</Notice> : null}
        {said === "looks-right" ? <Notice kind="info">{words["unproven"]}</Notice> : null}
        {said === "cannot-tell" ? <Notice kind="info">{words["cannotTell"]}</Notice> : null}
      </div>
      {said === "disagree" ? <ViewSelect value={photo.view} words={words} onView={(view) => onChange({ ...photo, view })} /> : null}
      {said === "opposite" ? <SideStop words={words} onNew={onRemove} onTaps={() => onChange({ ...photo, ...asked })} /> : null}
      <Button kind="quiet" onClick={onRemove}>{words["remove"]}</Button>
    </Stack>
  );
}
