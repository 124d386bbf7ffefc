"use client";

import { createContext, use, useEffect, useRef, useState, type ReactNode } from "react";
import styles from "@/app/desk/children/[childId]/sets/[photoSetId]/desk-clip.module.css";
import type { DeskClipWords } from "@/app/desk/children/[childId]/sets/[photoSetId]/desk-clip-words";
import { fill } from "@/app/desk/children/[childId]/sets/[photoSetId]/mark-names";
import type { BoardPhoto } from "@/app/desk/children/[childId]/sets/[photoSetId]/use-board";
import { Button } from "@/app/ui/button";
import { secondsOf } from "@/lib/domain/clip/moment";
import { spanField, spellSpan, type ClipSpan } from "@/lib/domain/clip/span";

/** A picture taken from a clip, as the board shows it among the photos. */
export type DeskMoment = BoardPhoto & {
  /** The photo whose clip it is of. */
  readonly momentOf: string;
  readonly clipMs: number;
  readonly isHeld: boolean;
};

type Spans = Readonly<Record<string, ClipSpan>>;
type Around = {
  /** In the order of the clip's time. */
  readonly moments: readonly DeskMoment[];
  /** By the photo whose clip it is of. */
  readonly spans: Spans;
  /** What the board was asked to show; a new object each time. */
  readonly asked: { readonly photoId: string } | null;
  readonly add: (moment: DeskMoment) => void;
  readonly remove: (photoId: string) => void;
  readonly show: (photoId: string) => void;
  readonly give: (photoId: string, span: ClipSpan | null) => void;
};
const Clips = createContext<Around | null>(null);

/**
 * Around a photo set's page: what is taken from its clips, under the photos, and drawn on among them. A moment is there at
 * once, without the page being made anew around a draft that is being written.
 */
export function ClipAround({ saved, savedSpans, children }: { readonly saved: readonly DeskMoment[]; readonly savedSpans: Spans; readonly children: ReactNode }) {
  const [moments, setMoments] = useState(saved);
  const [spans, setSpans] = useState(savedSpans);
  const [asked, setAsked] = useState<Around["asked"]>(null);
  const around: Around = {
    moments, spans, asked,
    // Sent again after a lost answer, it is the same one.
    add: (moment) => setMoments((all) => [...all.filter(({ photoId }) => photoId !== moment.photoId), moment].toSorted((a, b) => a.clipMs - b.clipMs)),
    remove: (photoId) => setMoments((all) => all.filter((each) => each.photoId !== photoId)),
    show: (photoId) => setAsked({ photoId }),
    give: (photoId, span) => setSpans((all) => Object.fromEntries([...Object.entries(all).filter(([id]) => id !== photoId), ...(span ? [[photoId, span] as const] : [])])),
  };
  return <Clips value={around}>{children}</Clips>;
}

export function useClips(): Around {
  const around = use(Clips);
  if (!around) throw new Error("clips stand inside ClipAround");
  return around;
}

/** Inside the answering form: the parts of clips that go with it, each to be taken out again. */
export function GivenSpans({ words }: { readonly words: DeskClipWords }) {
  const { spans, give } = useClips();
  const place = useRef<HTMLDivElement>(null);
  const told = useRef(spans);
  useEffect(() => {
    // The draft listens to the form's own events, which a hidden field does not send by itself.
    if (told.current !== spans) place.current?.dispatchEvent(new Event("input", { bubbles: true }));
    told.current = spans;
  }, [spans]);
  return (
    <div ref={place} className={styles.spans} hidden={Object.keys(spans).length === 0}>
      {Object.entries(spans).map(([photoId, span]) => (
        <p key={photoId}>
          <input type="hidden" name={spanField(photoId)} value={spellSpan(span)} />
          <span>{fill(words.given, { from: String(secondsOf(span.fromMs)), to: String(secondsOf(span.toMs)) })}</span>
          <Button kind="quiet" onClick={() => give(photoId, null)}>{words.takeOut}</Button>
        </p>
      ))}
    </div>
  );
}
