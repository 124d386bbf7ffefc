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
  const [isTaking, setTaking] = useState(false);

  useEffect(() => {
    const form = mark.current?.closest("form");
    if (!form) return;
    let current = version;
    let timer = 0;
    let isSaving = false;
    let isStale = false;
    const save = async () => {
      // One at a time: each builds on the version the one before was given.
      if (isSaving || isStale) return later();
      isSaving = true;
      setStatus("draftSaving");
      const fields = Object.fromEntries([...new FormData(form)].filter(([name, value]) => typeof value === "string" && value !== "" && !name.startsWith("$") && !OWN.includes(name)));
      const answer = await fetch(`/api/drafts/${childId}/${photoSetId}`, {
        method: "PUT", headers: { "content-type": "application/json" }, body: JSON.stringify({ fields, version: current }),
      }).catch(() => null);
      isSaving = false;
      if (answer?.ok) {
        const saved: unknown = await answer.json();
        if (typeof saved === "object" && saved !== null && "version" in saved) current = Number(saved.version);
        setStatus("draftSaved");
      } else if (answer?.status === 409) {
        isStale = true;
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
    const onInput = () => later();
    form.addEventListener("input", onInput);
    return () => {
      form.removeEventListener("input", onInput);
      window.clearTimeout(timer);
    };
  }, [childId, photoSetId, version]);

  useEffect(() => {
    const claim = async () => {
      const answer = await fetch(`/api/claims/${childId}/${photoSetId}${isTaking ? "?take-over=yes" : ""}`, { method: "POST" }).catch(() => null);
      if (!answer?.ok) return;
      const claimed: unknown = await answer.json();
      if (typeof claimed === "object" && claimed !== null && "isMine" in claimed && "name" in claimed) setHeldBy(claimed.isMine === true ? null : String(claimed.name));
    };
    void claim();
    const timer = window.setInterval(() => void claim(), RENEW_MS);
    return () => window.clearInterval(timer);
  }, [childId, photoSetId, isTaking]);

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
          <p><Button kind="quiet" onClick={() => setTaking(true)}>{words.takeOver}</Button></p>
        </Notice>
      )}
      <p className={styles.help}>{words.keys}</p>
      <output className={styles.status}>{status === "" ? "" : words[status]}</output>
    </div>
  );
}

const OWN = ["once", "childId", "photoSetId"];

/** 1 to 4 judge the item in hand, n and p go on and back, r ticks "the rest". True when the key meant something. */
function pressKey(form: HTMLFormElement, key: string): boolean {
  const items = [...form.querySelectorAll<HTMLElement>("fieldset[data-item]")];
  const at = items.findIndex((item) => item.contains(document.activeElement));
  const focus = (index: number) => items[index]?.querySelector<HTMLInputElement>("input[type=radio]:checked, input[type=radio]")?.focus();
  const verdict = VERDICT_KEYS[key];
  if (verdict) {
    const radio = items[Math.max(at, 0)]?.querySelector<HTMLInputElement>(`input[type=radio][value="${verdict}"]`);
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
