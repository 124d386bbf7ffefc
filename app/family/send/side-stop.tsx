"use client";

import { useEffect, useRef } from "react";
import styles from "@/app/family/send/send.module.css";
import { Button } from "@/app/ui/button";

/** Fills the screen. There is a way back to the taps and a way to a new photo, and none past it. */
export function SideStop({ words, isProven, onNew, onTaps }: {
  readonly words: Readonly<Record<string, string>>;
  /** The side card rules out a mirrored picture. */
  readonly isProven: boolean;
  readonly onNew: () => void;
  readonly onTaps: () => void;
}) {
  const dialog = useRef<HTMLDialogElement>(null);
  useEffect(() => dialog.current?.showModal(), []);
  return (
    <dialog ref={dialog} className={styles.stop} role="alertdialog" aria-labelledby="side-stop" aria-describedby="side-stop-what" onCancel={(event) => event.preventDefault()}>
      <h2 id="side-stop">{words["oppositeTitle"]}</h2>
      <div id="side-stop-what" className={styles.what}>
        <p>{words["opposite1"]}</p>
        <p>{words[isProven ? "opposite2Proven" : "opposite2"]}</p>
        <p>{words["opposite3"]}</p>
        {words["handHow"] ? <><p>{words["handHow"]}</p><p>{words["handLies"]}</p></> : null}
      </div>
      <Button kind="stop" onClick={onNew}>{words["oppositeNew"]}</Button>
      <Button kind="quiet" onClick={onTaps}>{words["oppositeTaps"]}</Button>
    </dialog>
  );
}
