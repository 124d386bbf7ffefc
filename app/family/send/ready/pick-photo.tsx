"use client";

import { useEffect, useEffectEvent, useState, type DragEvent } from "react";
import { SharedHere } from "@/app/family/phone/shared-here";
import styles from "@/app/family/send/ready/ready.module.css";
import type { Words } from "@/app/family/send/steps";
import { FileButton } from "@/app/ui/button";

/** By the camera on the back of the phone, from the gallery, and at a desk by pasting or dropping too. */
export function PickPhoto({ words, isBusy, onPicked }: {
  readonly words: Words;
  readonly isBusy: boolean;
  readonly onPicked: (file: File) => void;
}) {
  const [isOver, setIsOver] = useState(false);
  const pick = (files: FileList | null | undefined) => {
    const file = files?.[0];
    if (file && !isBusy) onPicked(file);
  };
  const pasted = useEffectEvent((event: ClipboardEvent) => pick(event.clipboardData?.files));
  useEffect(() => {
    const listen = (event: ClipboardEvent) => pasted(event);
    document.addEventListener("paste", listen);
    return () => document.removeEventListener("paste", listen);
  }, []);
  const over = (event: DragEvent, isHere: boolean) => {
    event.preventDefault();
    setIsOver(isHere);
  };

  const button = (word: string, isCamera: boolean) => (
    <FileButton kind={isCamera ? "primary" : "quiet"} accept="image/*" {...(isCamera ? { capture: "environment" as const } : {})} disabled={isBusy}
      onChange={(event) => {
        pick(event.target.files);
        event.target.value = "";
      }}>{words[word]}</FileButton>
  );
  return (
    <div className={styles.drop} data-over={isOver} onDragOver={(event) => over(event, true)} onDragLeave={(event) => over(event, false)}
      onDrop={(event) => {
        over(event, false);
        pick(event.dataTransfer.files);
      }}>
      <SharedHere words={words} isBusy={isBusy} onPicked={onPicked} />
      {button("camera", true)}
      {button("gallery", false)}
      <p className={styles.desk}>{words["dropHere"]}</p>
    </div>
  );
}
