"use client";

import { useEffect, useRef, useState } from "react";
import styles from "@/app/desk/children/[childId]/sets/[photoSetId]/answering.module.css";
import type { KeeperWords } from "@/app/desk/children/[childId]/sets/[photoSetId]/words";
import { Button } from "@/app/ui/button";
import { Notice } from "@/app/ui/notice";

const PAUSE_MS = 700;
const RENEW_MS = 3 * 60_000;
const VERDICT_KEYS: Readonly<Record<string, string>> = { 1: "in-place", 2: "fix", 3: "not-visible", 4: "not-part" };

/** Keeps the draft on the server as the form changes, renews the claim, and gives the checklist its single keys. */
export function AnswerKeeper({ childId, photoSetId, version, words }: {
  readonly childId: string;
  readonly photoSetId: string;
  readonly version: number;
  readonly words: KeeperWords;
}) {
  const mark = useRef<HTMLDivElement>(null);
  const [status, setStatus] = useState<"" | "draftSaved" | "draftSaving" | "draftFailed" | "draftStale">("");
  const [heldBy, setHeldBy] = useState<string | null>(null);
  const claimNow = useRef<(takeOver: boolean) => void>(() => {});
  const keepThis = useRef<() => void>(() => {});

  useEffect(() => {
    const form = mark.current?.closest("form");
    if (!form) return;
    let current = version;
    let timer = 0;
    let isSaving = false;
    let isStale = false;
    let isTyped = false;
    const save = async () => {
      // One at a time: each builds on the version the one before was given.
      if (isSaving || isStale) return later();
      isSaving = true;
      setStatus("draftSaving");
      const fields = Object.fromEntries([...new FormData(form)].filter(([name, value]) => typeof value === "string" && value !== "" && !name.startsWith("$") && !OWN.includes(name)));
      const body = JSON.stringify({ fields, version: current });
      const answer = await fetch(`/api/drafts/${childId}/${photoSetId}`, {
        // Outlives the page where the browser allows it: at most 64 KB (Fetch Standard, keepalive).
        method: "PUT", headers: { "content-type": "application/json" }, body, keepalive: body.length < 20_000,
      }).catch(() => null);
      isSaving = false;
      if (answer?.ok) {
        const saved: unknown = await answer.json();
        if (typeof saved === "object" && saved !== null && "version" in saved) current = Number(saved.version);
        setStatus("draftSaved");
      } else if (answer?.status === 409) {
        isStale = true;
        const refused: unknown = await answer.json().catch(() => null);
        const theirs = typeof refused === "object" && refused !== null && "version" in refused ? Number(refused.version) : current;
        // Both are kept until the therapist says which one goes on.
        keepThis.current = () => {
          current = theirs;
          isStale = false;
          void save();
        };
        setStatus("draftStale");
      } else {
        setStatus("draftFailed");
        if (answer === null) later(PAUSE_MS * 6);
      }
    };
    const later = (ms = PAUSE_MS) => {
      window.clearTimeout(timer);
      if (!isStale) timer = window.setTimeout(() => void save(), ms);
    };
    const onInput = () => {
      isTyped = true;
      later();
    };
    // What was typed a moment before the page is left goes too.
    const onHide = () => {
      if (document.visibilityState === "hidden" && isTyped) void save();
    };
    form.addEventListener("input", onInput);
    document.addEventListener("visibilitychange", onHide);
    return () => {
      form.removeEventListener("input", onInput);
      document.removeEventListener("visibilitychange", onHide);
      window.clearTimeout(timer);
    };
  }, [childId, photoSetId, version]);

  useEffect(() => {
    let isActive = true;
    const claim = async (takeOver: boolean) => {
      const answer = await fetch(`/api/claims/${childId}/${photoSetId}${takeOver ? "?take-over=yes" : ""}`, { method: "POST" }).catch(() => null);
      if (!answer?.ok) return;
      const claimed: unknown = await answer.json();
      if (typeof claimed === "object" && claimed !== null && "isMine" in claimed && "name" in claimed) setHeldBy(claimed.isMine === true ? null : String(claimed.name));
    };
    claimNow.current = (takeOver) => void claim(takeOver);
    void claim(false);
    // Renewed only while somebody is at it, so that a page left open gives the set back.
    const onActive = () => {
      isActive = true;
    };
    const timer = window.setInterval(() => {
      if (isActive) void claim(false);
      isActive = false;
    }, RENEW_MS);
    for (const kind of ACTIVE) document.addEventListener(kind, onActive);
    return () => {
      window.clearInterval(timer);
      for (const kind of ACTIVE) document.removeEventListener(kind, onActive);
    };
  }, [childId, photoSetId]);

  useEffect(() => {
    const onKey = (event: KeyboardEvent) => {
      const at = event.target;
      const isTyping = at instanceof HTMLElement && at.matches("input:not([type=radio]):not([type=checkbox]), textarea, select");
      if (isTyping || event.ctrlKey || event.metaKey || event.altKey) return;
      const form = mark.current?.closest("form");
      if (form && pressKey(form, event.key)) event.preventDefault();
    };
    document.addEventListener("keydown", onKey);
    return () => document.removeEventListener("keydown", onKey);
  }, []);

  return (
    <div ref={mark}>
      {words.restored ? <p className={styles.status}>{words.restored}</p> : null}
      {heldBy === null ? null : (
        <Notice kind="caution">
          <p>{words.claimedBy.replace("{name}", heldBy)}</p>
          <p><Button kind="quiet" onClick={() => claimNow.current(true)}>{words.takeOver}</Button></p>
        </Notice>
      )}
      <p className={styles.help}>{words.keys}</p>
      <output className={styles.status}>{status === "" || status === "draftStale" ? "" : words[status]}</output>
      {status === "draftStale" ? (
        <Notice kind="problem">
          <p>{words.draftStale}</p>
          <div className={styles.tools}>
            <Button kind="quiet" onClick={() => keepThis.current()}>{words.keepThis}</Button>
            <Button kind="quiet" onClick={() => window.location.reload()}>{words.showOther}</Button>
          </div>
        </Notice>
      ) : null}
    </div>
  );
}

const ACTIVE = ["input", "keydown", "pointerdown"] as const;
const OWN = ["once", "childId", "photoSetId"];

/** 1 to 4 judge the item in hand, n and p go on and back, r ticks "the rest". True when the key meant something. */
function pressKey(form: HTMLFormElement, key: string): boolean {
  const items = [...form.querySelectorAll<HTMLElement>("fieldset[data-item]")];
  const at = items.findIndex((item) => item.contains(document.activeElement));
  const focus = (index: number) => items[index]?.querySelector<HTMLInputElement>("input[type=radio]:checked, input[type=radio]")?.focus();
  const verdict = VERDICT_KEYS[key];
  if (verdict) {
    // With no item in hand a key judges nothing: the first item says which side is down.
    const radio = items[at]?.querySelector<HTMLInputElement>(`input[type=radio][value="${verdict}"]`);
    radio?.focus();
    radio?.click();
    return radio !== undefined && radio !== null;
  }
  if (key === "n") focus(Math.min(at + 1, items.length - 1));
  else if (key === "p") focus(Math.max(at - 1, 0));
  else if (key === "r") form.querySelector<HTMLInputElement>("input[name=rest]")?.click();
  else return false;
  return true;
}
