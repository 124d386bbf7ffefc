"use client";

import { filled, TakeOut, type SetParts } from "@/app/family/queue/take-out";
import { Button, ButtonLink } from "@/app/ui/button";
import { Notice } from "@/app/ui/notice";
import { Row } from "@/app/ui/stack";
import { remedyFor, type Refused } from "@/lib/domain/sending/entry";

const TAKEN = ["just-now", "earlier-today", "before"] as const;

/** Why it was not sent, and the one thing that helps. */
export function RefusedSet({ entry, queue, words, code: { code, values, ordinal } }: SetParts & { readonly code: Refused }) {
  const remedy = remedyFor(code);
  const sendAgain = `/family/send?child=${entry.childId}&exercise=${entry.exerciseKey}`;
  const reason = remedy === "side" ? words["side"] : filled(words[`code.${code}`] ?? words["code.other"], values);
  return (
    <>
      <Notice kind={remedy === "side" ? "stop" : "problem"} title={words["refused"]}>
        <p>{ordinal === null || entry.photos.length === 1 ? "" : filled(words["photoAt"], { n: ordinal })} {reason}</p>
        <p>{words[`do.${remedy}`]}</p>
      </Notice>
      <Row>
        {remedy === "taken" ? TAKEN.map((each) => <Button key={each} kind="quiet" onClick={() => void queue.sayTaken(entry.id, each)}>{words[`taken-${each}`]}</Button>) : null}
        {remedy === "consent" ? <ButtonLink href={`/family/consent/${entry.childId}`}>{words["consent"]}</ButtonLink> : null}
        {remedy === "look-again" || remedy === "side" ? <ButtonLink href={sendAgain}>{words["lookAgain"]}</ButtonLink> : null}
        {remedy === "other-photo" ? <ButtonLink href={sendAgain}>{words["newPhoto"]}</ButtonLink> : null}
        {remedy === "again" || remedy === "consent" ? <Button kind="quiet" onClick={() => void queue.press(entry.id)}>{words["tryNow"]}</Button> : null}
        {remedy === "without-clip" ? <Button kind="quiet" onClick={() => void queue.dropClip(entry.id)}>{words["dropClip"]}</Button> : null}
        {remedy === "gone" ? <Button onClick={() => void queue.takeOut(entry.id)}>{words["understood"]}</Button> : <TakeOut entry={entry} queue={queue} words={words} />}
      </Row>
    </>
  );
}
