"use client";

import { useEffect, useEffectEvent, useRef, useState } from "react";
import { forgetShared } from "@/app/family/phone/shared-photos";
import { PickPhoto } from "@/app/family/send/ready/pick-photo";
import { PreparePhoto } from "@/app/family/send/ready/prepare-photo";
import type { ReadyMade } from "@/app/family/send/ready/made";
import { readyPhoto, type ReadyPhoto } from "@/app/family/send/ready/ready";
import type { FirstPhoto } from "@/app/family/send/send-steps";
import { arrived, madeHere, type Photo, type Words } from "@/app/family/send/steps";
import { uploadAsItIs, type Failure } from "@/app/family/send/upload";
import { ViewSelect } from "@/app/family/send/view-select";
import { Button } from "@/app/ui/button";
import { Notice } from "@/app/ui/notice";
import { Progress } from "@/app/ui/progress";
import { Stack } from "@/app/ui/stack";
import type { View } from "@/lib/domain/setup/vocabulary";

type Chosen = { readonly file: File; readonly ready: ReadyPhoto | null };
type Pending = { readonly file: File; readonly key: string; readonly ordinal: number; readonly view: View };

/**
 * Takes or chooses one photo and makes it ready here; nothing of it leaves the phone yet. What the browser
 * cannot open is sent as it is, with real progress, to be looked at.
 */
export function AddPhoto({ first, place, cards, words, sentence, onTaken, onAdded }: {
  /** Chosen already, and begun with at once. */
  readonly first: FirstPhoto | null;
  readonly place: { readonly personId: string; readonly childId: string; readonly setId: string; readonly exerciseKey: string; readonly ordinal: number };
  /** The numbers of the child's side cards. */
  readonly cards: readonly string[];
  readonly words: Words;
  readonly sentence: (failure: Failure) => string;
  /** The first one is in hand here. */
  readonly onTaken: () => void;
  readonly onAdded: (photo: Photo) => void;
}) {
  const [view, setView] = useState<View>(first?.view ?? "behind");
  const [isOpening, setIsOpening] = useState(false);
  const [chosen, setChosen] = useState<Chosen | null>(null);
  const [share, setShare] = useState<number | null>(null);
  const [isWaiting, setIsWaiting] = useState(false);
  const [failure, setFailure] = useState<Failure | null>(null);
  const [pending, setPending] = useState<Pending | null>(null);

  async function choose(file: File): Promise<void> {
    setFailure(null);
    setPending(null);
    // A gallery whose photo lies elsewhere gives nothing; sent, that would look like a bad line.
    if (file.size === 0) return setFailure({ code: "photo-empty" });
    setIsOpening(true);
    const ready = await readyPhoto(file);
    setIsOpening(false);
    setChosen({ file, ready });
  }

  const isBegun = useRef(false);
  const begin = useEffectEvent(() => {
    if (!first || isBegun.current) return;
    isBegun.current = true;
    onTaken();
    void choose(first.file);
  });
  useEffect(() => begin(), []);

  function leave(): void {
    chosen?.ready?.close();
    setChosen(null);
  }

  async function send(photo: Pending): Promise<void> {
    setPending(photo);
    setFailure(null);
    setShare(0);
    const { ordinal, view: from } = photo;
    const outcome = await uploadAsItIs({ ...place, ordinal, view: from }, photo.file, photo.key, setShare, setIsWaiting)
      .catch(() => ({ failure: { code: "other" } }));
    setShare(null);
    if ("failure" in outcome) {
      setFailure(outcome.failure);
      return;
    }
    setPending(null);
    onAdded(arrived(outcome.photo, photo.key, ordinal, from));
  }

  function use(made: ReadyMade): void {
    if (chosen) void forgetShared(chosen.file);
    setChosen(null);
    onAdded(madeHere(made, crypto.randomUUID(), place.ordinal, view, cards));
  }

  if (chosen) {
    return (
      <PreparePhoto file={chosen.file} ready={chosen.ready} words={words} onOther={leave} onUse={use} onAsItIs={() => {
        void forgetShared(chosen.file);
        leave();
        void send({ file: chosen.file, key: crypto.randomUUID(), ordinal: place.ordinal, view });
      }} />
    );
  }
  return (
    <Stack gap="small">
      <ViewSelect value={view} words={words} onView={setView} />
      <PickPhoto words={words} isBusy={isOpening || share !== null} onPicked={(file) => void choose(file)} />
      <p aria-live="polite">{isOpening ? words["opening"] : null}</p>
      {share === null ? null : <Progress label={words["uploading"] ?? ""} value={share} />}
      {isWaiting ? <Notice kind="info">{words["waiting"]}</Notice> : null}
      {failure ? <Notice kind="problem">{failure.code === "line" ? words["lost"] : sentence(failure)}</Notice> : null}
      {failure && pending ? <Button kind="quiet" onClick={() => void send(pending)}>{words["again"]}</Button> : null}
    </Stack>
  );
}
