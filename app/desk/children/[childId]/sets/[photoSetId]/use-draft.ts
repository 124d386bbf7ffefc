import { useEffect, useRef, useState, type RefObject } from "react";
import { localKey, readLocal, removeLocal, sweepLocal, writeLocal } from "@/app/desk/local-drafts";
import { differing, withFields, written, type DraftFields } from "@/lib/domain/answering/draft-fields";

const PAUSE_MS = 700;
const AGAIN_MS = 4000;

export type DraftStatus = "" | "saving" | "saved" | "no-server" | "not-kept" | "signed-out" | "sent-elsewhere";
/** A second draft that waits for a choice: what this browser kept, or what another window saved. */
export type OtherDraft = { readonly from: "computer" | "window"; readonly here: DraftFields; readonly there: DraftFields };

/** The server's word on one saving. */
type Saved = { readonly status: number; readonly version: number; readonly fields: DraftFields; readonly code: string };

/**
 * Keeps the form around `mark` as the draft of one person and photo set: at once in this browser, a moment
 * later on the server, and then only there. `stored` is what the server had when the page was made.
 */
export function useDraft(mark: RefObject<HTMLElement | null>, of: {
  readonly childId: string; readonly photoSetId: string; readonly personId: string; readonly version: number; readonly stored: DraftFields;
}) {
  const { childId, photoSetId, personId, version, stored } = of;
  const [status, setStatus] = useState<DraftStatus>("");
  const [other, setOther] = useState<OtherDraft | null>(null);
  const chooseNow = useRef<(names: readonly string[]) => void>(() => {});
  const first = useRef(stored);

  useEffect(() => {
    const form = mark.current?.closest("form");
    if (!form) return;
    const key = localKey(personId, photoSetId);
    let current = version;
    let timer = 0;
    let isSaving = false;
    /** Another window saved: nothing is saved over it unasked. */
    let isHeld = false;
    /** What this browser kept is offered: it is not written over either. */
    let isOffered = false;
    let isTyped = false;
    let isKept = true;
    let edits = 0;
    const read = () => written(new FormData(form));
    const hold = (found: OtherDraft) => {
      isHeld = found.from === "window";
      isOffered = found.from === "computer";
      setOther(found);
      // Both are kept until the therapist has chosen; then the page is made anew from what was chosen.
      chooseNow.current = async (names) => {
        isHeld = true;
        window.clearTimeout(timer);
        const saved = await put(childId, photoSetId, withFields(read(), found.there, names), current);
        if (saved?.status === 409) return changedElsewhere(saved);
        if (saved?.status !== 200) return setStatus(saved?.status === 401 ? "signed-out" : "no-server");
        removeLocal(key);
        window.location.replace(window.location.href);
      };
    };
    const changedElsewhere = (saved: Saved) => {
      current = saved.version;
      hold({ from: "window", here: read(), there: saved.fields });
      setStatus("");
    };
    const save = async () => {
      // One at a time: each builds on the version the one before was given.
      if (isSaving || isHeld) return later();
      isSaving = true;
      isTyped = false;
      const upTo = edits;
      setStatus("saving");
      const saved = await put(childId, photoSetId, read(), current);
      isSaving = false;
      // What is not there yet is sent again when the page is left.
      isTyped ||= saved?.status !== 200;
      if (saved?.status === 200) {
        current = saved.version;
        if (upTo === edits && !isOffered) removeLocal(key);
        setStatus("saved");
      } else if (saved?.status === 409) changedElsewhere(saved);
      else if (saved?.status === 401) setStatus("signed-out");
      else if (saved?.code === "answered-already") setStatus("sent-elsewhere");
      else {
        setStatus(isKept && !isOffered ? "no-server" : "not-kept");
        later(AGAIN_MS);
      }
    };
    const later = (ms = PAUSE_MS) => {
      window.clearTimeout(timer);
      if (!isHeld) timer = window.setTimeout(() => void save(), ms);
    };
    const onInput = () => {
      isTyped = true;
      edits += 1;
      if (!isOffered) isKept = writeLocal(key, read(), Date.now());
      later();
    };
    // What was typed a moment before the page is left goes too; what is saved already would only outdate the page that comes next.
    const onHide = () => {
      if (document.visibilityState === "hidden" && isTyped) void save();
    };
    sweepLocal(Date.now());
    const local = readLocal(key);
    if (local && differing(local, first.current).length > 0) hold({ from: "computer", here: first.current, there: local });
    else removeLocal(key);
    form.addEventListener("input", onInput);
    document.addEventListener("visibilitychange", onHide);
    if (!isOffered && isTouched(form)) onInput();
    return () => {
      form.removeEventListener("input", onInput);
      document.removeEventListener("visibilitychange", onHide);
      window.clearTimeout(timer);
    };
  }, [mark, childId, photoSetId, personId, version]);

  return { status, other, choose: (names: readonly string[]) => chooseNow.current(names) };
}

/** True when somebody typed or chose before this script ran, which no event tells any more. */
function isTouched(form: HTMLFormElement): boolean {
  return [...form.elements].some((field) =>
    field instanceof HTMLTextAreaElement ? field.value !== field.defaultValue
      : field instanceof HTMLInputElement && field.name !== "" && (field.value !== field.defaultValue || field.checked !== field.defaultChecked));
}

/** Null when nobody answered. */
async function put(childId: string, photoSetId: string, fields: DraftFields, version: number): Promise<Saved | null> {
  const body = JSON.stringify({ fields, version });
  const answer = await fetch(`/api/drafts/${childId}/${photoSetId}`, {
    // Outlives the page where the browser allows it: at most 64 KB (Fetch Standard, keepalive).
    method: "PUT", headers: { "content-type": "application/json" }, body, keepalive: body.length < 20_000,
  }).catch(() => null);
  if (!answer) return null;
  const said: unknown = await answer.json().catch(() => null);
  const isObject = typeof said === "object" && said !== null;
  const theirs = isObject && "fields" in said && typeof said.fields === "object" && said.fields !== null ? said.fields : {};
  const problem = isObject && "problem" in said && typeof said.problem === "object" && said.problem !== null ? said.problem : {};
  const code = "code" in problem ? String(problem.code) : "";
  return { status: answer.status, code, version: isObject && "version" in said ? Number(said.version) : version, fields: written(Object.entries(theirs)) };
}
