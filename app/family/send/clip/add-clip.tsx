"use client";

import { useEffect, useRef, useState } from "react";
import styles from "@/app/family/send/clip/add-clip.module.css";
import { openClip, photoAt, type OpenedClip } from "@/app/family/send/clip/open-clip";
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
 * the same checks of side and light. Nothing leaves the phone yet.
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
  const video = useRef<HTMLVideoElement>(null);
  useEffect(() => () => URL.revokeObjectURL(clip?.src ?? ""), [clip]);

  async function choose(file: File | undefined): Promise<void> {
    if (!file) return;
    setFailure(null);
    setStands("opening");
    const opened = await openClip(file);
    setStands("");
    if (opened.ok) setClip(opened.value);
    else setFailure(opened.problem);
  }

  function refuse(code: string): void {
    setClip(null);
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

  function add(made: ReadyMade): void {
    if (!clip) return;
    // A frame says nothing of its own about when it was filmed.
    onAdded({ ...madeHere(made, crypto.randomUUID(), ordinal, view, cards), takenAt: clip.takenAt, clip: { key: crypto.randomUUID(), bytes: clip.bytes } });
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
        <p>{words["clipWhy"]}</p>
        <p>{words["clipSound"]}</p>
        <Notice kind="caution">{words["clipCover"]}</Notice>
        {failure ? <Notice kind="problem">{sentence(failure)}</Notice> : null}
        {frame ? <PreparePhoto file={frame.file} ready={frame.ready} words={words} onUse={add} onAsItIs={again} onOther={again} /> : null}
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
            <Button kind="quiet" onClick={() => setClip(null)}>{words["clipOther"]}</Button>
          </>
        ) : null}
        {clip ? null : <>{pick("clipCamera", true)}{pick("clipGallery", false)}</>}
        <p aria-live="polite">{stands === "opening" ? words["clipOpening"] : null}</p>
      </Stack>
    </section>
  );
}
