"use client";

import { useEffect, useRef, useState } from "react";
import styles from "@/app/family/send/clip/add-clip.module.css";
import { CoveredClip } from "@/app/family/send/clip/covered-clip";
import { openClip, photoAt, type OpenedClip } from "@/app/family/send/clip/open-clip";
import type { Bare } from "@/app/family/send/clip/phone-clip";
import type { ReadyMade } from "@/app/family/send/ready/made";
import { PreparePhoto } from "@/app/family/send/ready/prepare-photo";
import { readyPhoto, type ReadyPhoto } from "@/app/family/send/ready/ready";
import { madeHere, type Photo, type Words } from "@/app/family/send/steps";
import type { Failure } from "@/app/family/send/upload";
import { ViewSelect } from "@/app/family/send/view-select";
import { Button, FileButton } from "@/app/ui/button";
import { Notice } from "@/app/ui/notice";
import { Stack } from "@/app/ui/stack";
import { CLIP_LIMITS } from "@/lib/domain/clip/limits";
import type { View } from "@/lib/domain/setup/vocabulary";

type Frame = { readonly file: File; readonly ready: ReadyPhoto };

/**
 * One short clip: filmed or chosen, looked at here, and one moment of it made a photo like any other, which goes through
 * the same checks of side and light. What is covered in that photo is covered in the whole clip. Nothing leaves the phone yet.
 */
export function AddClip({ ordinal, cards, words, sentence, onAdded }: {
  readonly ordinal: number;
  /** The numbers of the child's side cards. */
  readonly cards: readonly string[];
  readonly words: Words;
  readonly sentence: (failure: Failure) => string;
  readonly onAdded: (photo: Photo) => void;
}) {
  const [view, setView] = useState<View>("behind");
  const [stands, setStands] = useState<"" | "opening" | "no-frame">("");
  const [failure, setFailure] = useState<Failure | null>(null);
  const [clip, setClip] = useState<OpenedClip | null>(null);
  const [frame, setFrame] = useState<Frame | null>(null);
  /** The photo, with covers that the whole clip gets too. */
  const [covered, setCovered] = useState<ReadyMade | null>(null);
  const video = useRef<HTMLVideoElement>(null);
  useEffect(() => () => {
    clip?.phone?.close();
    URL.revokeObjectURL(clip?.src ?? "");
  }, [clip]);

  async function choose(file: File | undefined): Promise<void> {
    if (!file) return;
    setFailure(null);
    setStands("opening");
    const opened = await openClip(file);
    setStands("");
    if (opened.ok) setClip(opened.value);
    else setFailure(opened.problem);
  }

  function leave(): void {
    frame?.ready.close();
    setFrame(null);
    setCovered(null);
    setClip(null);
  }

  function refuse(code: string): void {
    leave();
    setFailure({ code });
  }

  async function use(): Promise<void> {
    if (!video.current) return;
    video.current.pause();
    setStands("opening");
    const file = await photoAt(video.current).catch(() => null);
    const ready = file && (await readyPhoto(file));
    setStands(ready ? "" : "no-frame");
    if (ready) setFrame({ file, ready });
  }

  function add(made: ReadyMade, { bytes }: Bare): void {
    // A frame says nothing of its own about when it was filmed.
    onAdded({ ...madeHere(made, crypto.randomUUID(), ordinal, view, cards), takenAt: clip?.takenAt ?? null, clip: { key: crypto.randomUUID(), bytes } });
  }

  const pick = (word: string, isCamera: boolean) => (
    <FileButton kind="quiet" accept="video/*" {...(isCamera ? { capture: "environment" as const } : {})} disabled={stands === "opening"}
      onChange={(event) => {
        void choose(event.target.files?.[0]);
        event.target.value = "";
      }}>{words[word]}</FileButton>
  );
  const again = () => {
    frame?.ready.close();
    setFrame(null);
  };

  return (
    <section aria-label={words["clipTitle"]} className={styles.part}>
      <Stack gap="small">
        <strong>{words["clipTitle"]}</strong>
        {clip ? null : (
          <>
            <p>{words["clipWhy"]}</p>
            <p>{words["clipSound"]}</p>
            <Notice kind="caution">{words["clipFaces"]}</Notice>
          </>
        )}
        {failure ? <Notice kind="problem">{sentence(failure)}</Notice> : null}
        {clip && !frame ? (clip.phone ? <p>{words["clipBare"]}</p> : <Notice kind="caution">{words["clipNotBare"]}</Notice>) : null}
        {clip && !covered ? (clip.phone?.mayCover ? <p>{words["clipCover"]}</p> : <Notice kind="caution">{words["clipCannotCover"]}</Notice>) : null}
        {clip && frame ? (
          // It stays as it is behind the covered clip, for who wants to move a cover.
          <div hidden={covered !== null}>
            <PreparePhoto file={frame.file} ready={frame.ready} words={words} onUse={(made) => (made.covers.length > 0 ? setCovered(made) : add(made, clip))} onAsItIs={again} onOther={again} />
          </div>
        ) : null}
        {clip && covered ? (
          <CoveredClip phone={clip.phone?.mayCover ? clip.phone : null} covers={covered.covers} words={words} onUse={(whole) => add(covered, whole)}
            onAgain={() => setCovered(null)} onWithout={() => void covered.uncovered().then((made) => add(made, clip), () => setCovered(null))} onPhotosAlone={leave} />
        ) : null}
        {clip && !frame ? (
          <>
            <ViewSelect value={view} words={words} onView={setView} />
            <p>{words["clipMoment"]}</p>
            <video ref={video} className={styles.film} src={clip.src} controls muted playsInline preload="auto" aria-label={words["clipTitle"]} onError={() => refuse("clip-codec-refused")}
              onLoadedMetadata={({ currentTarget: film }) => {
                // One moment of it becomes a photo, and a photo must not be smaller.
                if (Math.min(film.videoWidth, film.videoHeight) < CLIP_LIMITS.minSide) {
                  refuse("clip-size-refused");
                  return;
                }
                // What a recorder streamed says no length before it has played to its end; the server measures it.
                if (!Number.isFinite(film.duration)) return;
                if (film.duration * 1000 > CLIP_LIMITS.maxMs + CLIP_LIMITS.graceMs) refuse("clip-too-long");
                else film.currentTime = film.duration / 2;
              }}><track kind="captions" /></video>
            {stands === "no-frame" ? <Notice kind="problem">{words["clipNoFrame"]}</Notice> : null}
            <Button disabled={stands === "opening"} onClick={() => void use()}>{words["clipUse"]}</Button>
            <Button kind="quiet" onClick={leave}>{words["clipOther"]}</Button>
          </>
        ) : null}
        {clip ? null : <>{pick("clipCamera", true)}{pick("clipGallery", false)}</>}
        <p aria-live="polite">{stands === "opening" ? words["clipOpening"] : null}</p>
      </Stack>
    </section>
  );
}
