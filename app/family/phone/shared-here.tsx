"use client";

import { useEffect, useState } from "react";
import styles from "@/app/family/phone/phone.module.css";
import { forgetShared, sharedPhotos } from "@/app/family/phone/shared-photos";
import { Button } from "@/app/ui/button";
import { Row } from "@/app/ui/stack";

type Words = Readonly<Record<string, string>>;
type Shown = { readonly file: File; readonly src: string };

/** What was shared from the gallery and waits on this phone, each to be used like any chosen photo or taken away. */
export function SharedHere({ words, isBusy, onPicked }: {
  readonly words: Words;
  readonly isBusy: boolean;
  readonly onPicked: (file: File) => void;
}) {
  const [shown, setShown] = useState<readonly Shown[]>([]);
  useEffect(() => {
    let isOver = false;
    let made: readonly Shown[] = [];
    sharedPhotos().then((files) => {
      if (isOver) return;
      made = files.map((file) => ({ file, src: URL.createObjectURL(file) }));
      setShown(made);
    }, () => {}); // a browser that keeps nothing
    return () => {
      isOver = true;
      for (const { src } of made) URL.revokeObjectURL(src);
    };
  }, []);

  if (shown.length === 0) return null;
  const drop = (file: File) => {
    void forgetShared(file);
    setShown((all) => all.filter((each) => each.file !== file));
  };
  return (
    <section className={styles.shared} aria-label={words["shared-waiting"]}>
      <p><strong>{words["shared-waiting"]}</strong></p>
      {shown.map(({ file, src }, at) => {
        const word = (key: string) => (words[key] ?? "").replace("{n}", String(at + 1));
        const name = word("shared-photo");
        return (
          <figure key={src} className={styles.photo} aria-label={name}>
            <img src={src} alt={name} />
            <Row>
              <Button disabled={isBusy} onClick={() => onPicked(file)}>{word("shared-use")}</Button>
              <Button kind="quiet" onClick={() => drop(file)}>{word("shared-drop")}</Button>
            </Row>
          </figure>
        );
      })}
    </section>
  );
}
