import type { Photo, Words } from "@/app/family/send/steps";
import { Button } from "@/app/ui/button";
import { Notice } from "@/app/ui/notice";

const OWNER_WORD = { "this-child": null, "other-child": "cardOther", unknown: "cardUnknown", "not-this-child": "cardNotThis" } as const;

/** What the side card says of one photo. It offers to turn the picture upright, and never does so by itself. */
export function CardNotices({ photo: { card, isTurnedBack }, words, isTurning, onTurn }: {
  readonly photo: Photo;
  readonly words: Words;
  readonly isTurning: boolean;
  readonly onTurn: (quarters: 1 | 2 | 3) => void;
}) {
  if (!card) return null;
  if (card.found === "several") return <Notice kind="caution">{words["cardSeveral"]}</Notice>;
  const whose = OWNER_WORD[card.owner];
  const quarters = QUARTERS[card.turnToUpright];
  return (
    <>
      {isTurnedBack ? <Notice kind="info">{words["cardTurnedBack"]}</Notice> : null}
      {whose ? <Notice kind="caution">{words[whose]}</Notice> : null}
      {quarters === null ? null : (
        <Notice kind="caution">
          <p>{words["cardWay"]}</p>
          <Button kind="quiet" aria-disabled={isTurning} onClick={() => onTurn(quarters)}>{words["cardTurn"]}</Button>
        </Notice>
      )}
    </>
  );
}

const QUARTERS = { 0: null, 90: 1, 180: 2, 270: 3 } as const;
