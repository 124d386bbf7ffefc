"use client";

import { useCallback, useEffect, useRef, useState } from "react";
import styles from "@/app/session-end/session-end.module.css";
import { Button, ButtonLink } from "@/app/ui/button";
import { lookAfterMs, stageOf, type Ending } from "@/lib/domain/sign-in/ending";

/** By which the tabs of one browser tell each other that somebody stayed. */
const CHANNEL = "trueside-session";
const ADDRESS = "/api/session";

export type EndWords = Readonly<Record<"soon" | "now" | "over" | "ended" | "other" | "stay" | "keys" | "signIn" | "signedIn" | "reload" | "lost", string>>;

async function ask(personId: string, method: "GET" | "POST"): Promise<Ending | null> {
  try {
    const answer = await fetch(ADDRESS, { method, headers: { "X-Person": personId }, cache: "no-store" });
    if (answer.status === 401) return { leftMs: 0, mayStay: false };
    if (answer.status === 409) return { leftMs: 0, mayStay: false, isOther: true };
    return answer.ok ? ((await answer.json()) as Ending) : null; // our own route's answer
  } catch {
    return null;
  }
}

/**
 * Warns before this sign-in ends, on every open page of the browser, and stays signed in by one press. The page is left as it
 * is, before and after: nothing typed is lost. Nothing but the server says that it is over.
 */
export function SessionEnd({ personId, first, words }: { readonly personId: string; readonly first: Ending; readonly words: EndWords }) {
  const [ending, setEnding] = useState(first);
  const [isLost, setLost] = useState(false);
  const others = useRef<BroadcastChannel | null>(null);
  const stage = stageOf(ending);

  const look = useCallback(async (method: "GET" | "POST"): Promise<void> => {
    const answer = await ask(personId, method);
    setLost(answer === null && method === "POST");
    if (answer) setEnding(answer);
    if (answer && method === "POST") others.current?.postMessage(answer);
  }, [personId]);

  useEffect(() => {
    const after = lookAfterMs(ending);
    if (after === null) return undefined;
    const timer = window.setTimeout(() => void look("GET"), after);
    return () => window.clearTimeout(timer);
  }, [ending, look]);

  useEffect(() => {
    others.current = "BroadcastChannel" in window ? new BroadcastChannel(CHANNEL) : null;
    others.current?.addEventListener("message", ({ data }: MessageEvent<Ending>) => setEnding(data));
    // A machine that slept counted nothing meanwhile.
    const seen = (): void => {
      if (document.visibilityState === "visible") void look("GET");
    };
    document.addEventListener("visibilitychange", seen);
    return () => {
      others.current?.close();
      document.removeEventListener("visibilitychange", seen);
    };
  }, [look]);

  const mayPress = stage === "soon" || stage === "now";
  useEffect(() => {
    if (!mayPress) return undefined;
    const press = (event: KeyboardEvent): void => {
      if (!event.altKey || event.ctrlKey || event.metaKey || event.code !== "KeyS") return;
      event.preventDefault();
      void look("POST");
    };
    window.addEventListener("keydown", press);
    return () => window.removeEventListener("keydown", press);
  }, [mayPress, look]);

  return (
    <div aria-live="assertive" className={styles.place}>
      {stage === "quiet" ? null : (
        <div className={styles.bar} data-stage={stage}>
          <p>{words[stage]}{isLost ? ` ${words.lost}` : ""}</p>
          {mayPress ? <p className={styles.row}><Button onClick={() => void look("POST")} aria-keyshortcuts="Alt+S">{words.stay}</Button><span className={styles.keys}>{words.keys}</span></p> : null}
          {stage === "ended" ? <p className={styles.row}><ButtonLink href="/sign-in" isInNewTab>{words.signIn}</ButtonLink><Button kind="quiet" onClick={() => void look("GET")}>{words.signedIn}</Button></p> : null}
          {stage === "other" ? <p className={styles.row}><Button onClick={() => window.location.reload()}>{words.reload}</Button></p> : null}
        </div>
      )}
    </div>
  );
}
