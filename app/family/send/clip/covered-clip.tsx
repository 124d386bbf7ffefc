"use client";

import { useEffect, useId, useState } from "react";
import styles from "@/app/family/send/clip/add-clip.module.css";
import { addressOf } from "@/app/family/send/clip/open-clip";
import type { Bare, PhoneClip } from "@/app/family/send/clip/phone-clip";
import type { Words } from "@/app/family/send/steps";
import { Button } from "@/app/ui/button";
import { Notice } from "@/app/ui/notice";
import { Progress } from "@/app/ui/progress";
import { Stack } from "@/app/ui/stack";
import type { Cover } from "@/lib/domain/photo/cover";

type Stands = { readonly at: "making"; readonly share: number } | { readonly at: "made"; readonly clip: Bare; readonly src: string } | { readonly at: "failed" };

/** The whole clip with its photo's covers on it, made here and looked through before it is used; or, where that cannot be, what else can be done. */
export function CoveredClip({ phone, covers, words, onUse, onAgain, onWithout, onPhotosAlone }: {
  /** Null where this browser cannot write a film. */
  readonly phone: PhoneClip | null;
  readonly covers: readonly Cover[];
  readonly words: Words;
  readonly onUse: (clip: Bare) => void;
  readonly onAgain: () => void;
  readonly onWithout: () => void;
  readonly onPhotosAlone: () => void;
}) {
  const [stands, setStands] = useState<Stands>(phone ? { at: "making", share: 0 } : { at: "failed" });
  const lookId = useId();
  useEffect(() => {
    let isOver = false;
    let src = "";
    phone?.covered(covers, (share) => (isOver ? undefined : setStands({ at: "making", share }))).then((clip) => {
      if (isOver) return;
      src = addressOf(clip);
      setStands({ at: "made", clip, src });
    }).catch(() => (isOver ? undefined : setStands({ at: "failed" })));
    return () => {
      isOver = true;
      URL.revokeObjectURL(src);
    };
  }, [phone, covers]);

  if (stands.at === "making") return <Progress label={words["clipCovering"] ?? ""} value={stands.share} />;
  return (
    <section aria-label={words["clipCoverTitle"]}>
      <Stack gap="small">
        {stands.at === "made" ? (
          <>
            <p id={lookId}>{words["clipLook"]}</p>
            <video className={styles.film} src={stands.src} controls muted playsInline preload="auto" aria-label={words["clipCoverTitle"]} onError={() => setStands({ at: "failed" })}>
              <track kind="captions" />
            </video>
            <Button aria-describedby={lookId} onClick={() => onUse(stands.clip)}>{words["clipCoveredUse"]}</Button>
            <Button kind="quiet" onClick={onAgain}>{words["clipCoverAgain"]}</Button>
          </>
        ) : (
          <>
            <Notice kind="caution">{words["clipCoverFailed"]}</Notice>
            <Button onClick={onPhotosAlone}>{words["clipPhotosAlone"]}</Button>
            <Button kind="quiet" onClick={onWithout}>{words["clipWithout"]}</Button>
          </>
        )}
      </Stack>
    </section>
  );
}
