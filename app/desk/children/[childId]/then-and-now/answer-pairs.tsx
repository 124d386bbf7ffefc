"use client";

import { createContext, use, useEffect, useRef, useState, type ReactNode } from "react";
import { ThenAndNow, type Attaching } from "@/app/desk/children/[childId]/then-and-now/then-and-now";
import styles from "@/app/desk/children/[childId]/then-and-now/then-and-now.module.css";
import type { PairWords, ShownPhoto } from "@/app/desk/children/[childId]/then-and-now/words";
import { Button } from "@/app/ui/button";
import { PAIR_FIELDS, PAIRS_LIMIT, readPair, spellPair, type PairIds } from "@/lib/domain/answering/pair";

type Beside = {
  readonly photos: readonly ShownPhoto[];
  /** The two to begin with; null while there are not two. */
  readonly first: readonly [ShownPhoto, ShownPhoto] | null;
  /** The same on a page of its own, for a browser without scripts. */
  readonly href: string;
  readonly words: PairWords;
};
type Around = Attaching & Beside & { readonly takeOut: (pair: PairIds) => void };
const Pairs = createContext<Around | null>(null);

/** Around a photo set's page: the pairs its answer is to carry, chosen in one place and sent from another. */
export function AnswerPairs({ saved, children, ...beside }: Beside & {
  /** The pairs of the draft, each `THEN:NOW`. */
  readonly saved: readonly string[];
  readonly children: ReactNode;
}) {
  const [pairs, setPairs] = useState<readonly PairIds[]>(() => saved.map(readPair));
  const without = (pair: PairIds) => pairs.filter((each) => spellPair(each) !== spellPair(pair));
  const around: Around = {
    ...beside, pairs, isFull: pairs.length >= PAIRS_LIMIT,
    attach: (pair) => setPairs([...without(pair), pair]), takeOut: (pair) => setPairs(without(pair)),
  };
  return <Pairs value={around}>{children}</Pairs>;
}

/** Inside the answering form: the pairs as they go with it, each to be taken out again. */
export function AttachedPairs() {
  const { pairs, photos, words, takeOut } = useAround();
  const place = useRef<HTMLDivElement>(null);
  const told = useRef(pairs);
  useEffect(() => {
    // The draft listens to the form's own events, which a hidden field does not send by itself.
    if (told.current !== pairs) place.current?.dispatchEvent(new Event("input", { bubbles: true }));
    told.current = pairs;
  }, [pairs]);
  const nameOf = ({ thenPhotoId, nowPhotoId }: PairIds): string => {
    const [first, second] = [thenPhotoId, nowPhotoId].map((photoId) => photos.find((photo) => photo.photoId === photoId));
    // Two dates say enough where the view is the same.
    const earlier = first && first.view === second?.view ? first.date : first?.option;
    return words.pair.replace("{first}", earlier ?? words.gone).replace("{second}", second?.option ?? words.gone);
  };
  return (
    <div ref={place} className={styles.attached} hidden={pairs.length === 0}>
      <p>{words.pairs}</p>
      <ul>
        {pairs.map((pair, at) => {
          const name = nameOf(pair);
          return (
            <li key={spellPair(pair)}>
              <input type="hidden" name={PAIR_FIELDS[at]} value={spellPair(pair)} />
              <span>{name}</span>
              <Button kind="quiet" aria-label={words.takeOutOf.replace("{pair}", name)} onClick={() => takeOut(pair)}>{words.takeOut}</Button>
            </li>
          );
        })}
      </ul>
    </div>
  );
}

/** Folded until it is wanted: no picture is fetched before. */
export function PairsPart({ canAttach }: { readonly canAttach: boolean }) {
  const around = useAround();
  const [isOpen, setOpen] = useState(false);
  const { photos, first, words, href } = around;
  if (!first) return null;
  return (
    <details onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>{words.title}</summary>
      <noscript><a href={href}>{words.noScript}</a></noscript>
      {isOpen ? <ThenAndNow photos={photos} first={first} words={words} {...(canAttach ? { attaching: around } : {})} /> : null}
    </details>
  );
}

function useAround(): Around {
  const around = use(Pairs);
  if (!around) throw new Error("pairs stand inside AnswerPairs");
  return around;
}
