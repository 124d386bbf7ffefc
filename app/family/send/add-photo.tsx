"use client";

import { useState } from "react";
import styles from "@/app/family/send/send.module.css";
import type { Words } from "@/app/family/send/steps";
import { uploadPhoto, type Failure, type Uploaded } from "@/app/family/send/upload";
import { Button } from "@/app/ui/button";
import { Notice } from "@/app/ui/notice";
import { Progress } from "@/app/ui/progress";
import { Stack } from "@/app/ui/stack";
import { VIEWS, type View } from "@/lib/domain/setup/vocabulary";

const VIEW_WORD: Readonly<Record<View, string>> = { behind: "viewBehind", front: "viewFront", "head-end": "viewHead", other: "viewOther" };

export function ViewSelect({ value, words, onView }: { readonly value: View; readonly words: Words; readonly onView: (view: View) => void }) {
  return (
    <label className={styles.file}>
      {words["view"]}
      <select value={value} onChange={(event) => onView(VIEWS.find((view) => view === event.target.value) ?? "behind")}>
        {VIEWS.map((view) => <option key={view} value={view}>{words[VIEW_WORD[view]]}</option>)}
      </select>
    </label>
  );
}

type Pending = { readonly file: File; readonly key: string; readonly ordinal: number; readonly view: View };

/** Takes or chooses one photo and sends its bytes at once, with real progress. The photo stays here until it arrived. */
export function AddPhoto({ place, words, sentence, onArrived }: {
  readonly place: { readonly childId: string; readonly setId: string; readonly exerciseKey: string; readonly ordinal: number };
  readonly words: Words;
  readonly sentence: (failure: Failure) => string;
  readonly onArrived: (photo: Uploaded, ordinal: number, view: View) => void;
}) {
  const [view, setView] = useState<View>("behind");
  const [share, setShare] = useState<number | null>(null);
  const [isWaiting, setIsWaiting] = useState(false);
  const [failure, setFailure] = useState<Failure | null>(null);
  const [pending, setPending] = useState<Pending | null>(null);

  async function send(photo: Pending): Promise<void> {
    setPending(photo);
    setFailure(null);
    setShare(0);
    const { ordinal, view: from } = photo;
    const outcome = await uploadPhoto({ ...place, ordinal, view: from }, photo.file, photo.key, setShare, setIsWaiting)
      .catch(() => ({ failure: { code: "other" } }));
    setShare(null);
    if ("failure" in outcome) {
      setFailure(outcome.failure);
      return;
    }
    setPending(null);
    onArrived(outcome.photo, ordinal, from);
  }

  const choose = (files: FileList | null) => {
    const file = files?.[0];
    if (file) void send({ file, key: crypto.randomUUID(), ordinal: place.ordinal, view });
  };

  const input = (word: string, isCamera: boolean) => (
    <label className={styles.file}>
      {words[word]}
      <input type="file" accept="image/*" {...(isCamera ? { capture: "environment" as const } : {})} disabled={share !== null}
        onChange={(event) => {
          choose(event.target.files);
          event.target.value = "";
        }} />
    </label>
  );
  return (
    <Stack gap="small">
      <ViewSelect value={view} words={words} onView={setView} />
      {input("camera", true)}
      {input("gallery", false)}
      {share === null ? null : <Progress label={words["uploading"] ?? ""} value={share} />}
      {isWaiting ? <Notice kind="info">{words["waiting"]}</Notice> : null}
      {failure ? <Notice kind="problem">{failure.code === "line" ? words["lost"] : sentence(failure)}</Notice> : null}
      {failure && pending ? <Button kind="quiet" onClick={() => void send(pending)}>{words["again"]}</Button> : null}
    </Stack>
  );
}
