"use client";

import { useEffect, useRef, useState } from "react";
import { useSpokenNote } from "@/app/desk/children/[childId]/sets/[photoSetId]/use-spoken-note";
import styles from "@/app/desk/children/[childId]/sets/[photoSetId]/voice-recorder.module.css";
import type { RecorderWords } from "@/app/desk/children/[childId]/sets/[photoSetId]/voice-words";
import type { UpNote } from "@/app/desk/children/[childId]/sets/[photoSetId]/voice-upload";
import { isTyping, singleKeysAreOn } from "@/app/desk/single-keys";
import { Button } from "@/app/ui/button";
import { Notice } from "@/app/ui/notice";
import { Progress } from "@/app/ui/progress";
import { Unseen } from "@/app/ui/unseen";
import { clock } from "@/lib/domain/words/clock";
import { VOICE_LIMITS } from "@/lib/voice/limits";

/** Starts a note, and ends the one being recorded. */
export const VOICE_KEY = "m";

/** A spoken note beside the summary: recorded, paused, heard, thrown away; its id goes with the answer as `voice`. */
export function VoiceRecorder({ childId, photoSetId, personId, saved, words }: {
  readonly childId: string;
  readonly photoSetId: string;
  readonly personId: string;
  readonly saved: UpNote | null;
  readonly words: RecorderWords;
}) {
  const spoken = useSpokenNote({ childId, photoSetId, personId, saved });
  const { note, work, now, problem } = spoken;
  const field = useRef<HTMLInputElement>(null);
  const voice = note?.voiceNoteId ?? "";
  const told = useRef(voice);
  /** The answer was sent while the note was not up: it goes as soon as it is. */
  const [isWaiting, setWaiting] = useState(false);
  const isBusy = work.at !== "none";

  useEffect(() => {
    // The draft listens to the form's own events, which a hidden field does not send by itself.
    if (told.current !== voice) field.current?.dispatchEvent(new Event("input", { bubbles: true }));
    told.current = voice;
    if (isWaiting && !isBusy) field.current?.form?.requestSubmit();
  }, [voice, isWaiting, isBusy]);

  const latest = useRef({ isBusy, finish: spoken.finish, record: spoken.record, at: work.at, hasNote: note !== null });
  useEffect(() => {
    latest.current = { isBusy, finish: spoken.finish, record: spoken.record, at: work.at, hasNote: note !== null };
  });
  useEffect(() => {
    const form = field.current?.form;
    const onSubmit = (event: Event) => {
      if (!latest.current.isBusy) return setWaiting(false);
      event.preventDefault();
      event.stopImmediatePropagation();
      setWaiting(true);
      latest.current.finish();
    };
    const onKey = (event: KeyboardEvent) => {
      const isOurs = event.key === VOICE_KEY && !event.repeat && !event.ctrlKey && !event.metaKey && !event.altKey;
      if (!isOurs || event.defaultPrevented || isTyping(event.target) || !singleKeysAreOn()) return;
      const { at, finish, record, hasNote } = latest.current;
      if (at === "recording" || at === "paused") finish();
      else if (at === "none" && !hasNote) void record();
      else return;
      event.preventDefault();
    };
    form?.addEventListener("submit", onSubmit, true);
    document.addEventListener("keydown", onKey);
    return () => {
      form?.removeEventListener("submit", onSubmit, true);
      document.removeEventListener("keydown", onKey);
    };
  }, []);

  const isOn = work.at === "recording" || work.at === "paused";
  const isFolded = !isBusy && note === null && problem === null && !spoken.cannotKeep;
  const leftMs = VOICE_LIMITS.maxMs - now.lengthMs;
  const sentence = (code: string, values?: Readonly<Record<string, string | number>>) => fill(words.problem[code] ?? words.problem["line"] ?? "", values);
  return (
    <section className={styles.recorder} aria-label={words.title} data-folded={isFolded ? "" : undefined} data-recording={work.at === "recording" ? "" : undefined}>
      <input ref={field} type="hidden" name="voice" value={voice} />
      {isFolded ? <Button kind="quiet" onClick={() => void spoken.record()} aria-keyshortcuts={VOICE_KEY}>{words.record} <kbd className={styles.key}>{VOICE_KEY}</kbd></Button> : null}
      {work.at === "asking" ? <p>{words.asking}</p> : null}
      {isOn ? (
        <>
          <p className={styles.time}>{words.time.replace("{used}", clock(now.lengthMs)).replace("{left}", clock(leftMs + 999))}</p>
          <label className={styles.level}>
            <span>{work.at === "paused" ? words.paused : words.level[levelOf(now.level)]}</span>
            <meter className={styles.meter} min={0} max={1} value={now.level}>{Math.round(now.level * 100)} %</meter>
          </label>
          <div className={styles.tools}>
            <Button onClick={spoken.finish} aria-keyshortcuts={VOICE_KEY}>{words.finish} <kbd className={styles.key}>{VOICE_KEY}</kbd></Button>
            <Button kind="quiet" onClick={spoken.turn}>{work.at === "paused" ? words.goOn : words.pause}</Button>
            <Button kind="quiet" onClick={() => void spoken.throwAway()}>{words.throwAway}</Button>
          </div>
        </>
      ) : null}
      {work.at === "sending" ? <Progress label={words.sending} value={work.share} /> : null}
      {work.at === "kept" ? (
        <Notice kind="problem">
          <p>{sentence(work.refusal.code, work.refusal.values)}</p>
          {work.refusal.code === "signed-out" ? <p><a href="/sign-in" target="_blank" rel="noopener">{words.signIn}</a></p> : null}
          <div className={styles.tools}>
            <Button kind="quiet" onClick={() => void spoken.send()}>{words.again}</Button>
            <Button kind="quiet" onClick={() => void spoken.throwAway()}>{words.throwAway}</Button>
          </div>
        </Notice>
      ) : null}
      {spoken.sound && !isOn ? <audio className={styles.audio} controls src={spoken.sound} aria-label={words.listenKept}><track kind="captions" /></audio> : null}
      {note && !isBusy ? (
        <>
          <p className={styles.there}><strong>{words.there.replace("{lasts}", clock(note.durationMs))}</strong> {spoken.isCut ? words.cut : words.listenFirst}</p>
          <div className={styles.tools}>
            <audio className={styles.audio} controls preload="none" src={`/media/${childId}/voice/${note.voiceNoteId}`} aria-label={words.listen}><track kind="captions" /></audio>
            <Button kind="quiet" onClick={() => void spoken.record()}>{words.recordAgain}</Button>
            <Button kind="quiet" onClick={() => void spoken.throwAway()}>{words.throwAway}</Button>
          </div>
        </>
      ) : null}
      {problem !== null && !isBusy ? (
        <Notice kind="problem">
          <p>{sentence(problem)}</p>
          <div className={styles.tools}>
            <Button kind="quiet" onClick={() => void spoken.record()}>{words.again}</Button>
            <label className={styles.file}>
              <span>{words.choose}</span>
              <input type="file" accept="audio/webm,audio/mp4,audio/x-m4a,.m4a,.mp4,.webm" onChange={(event) => {
                const [file] = event.target.files ?? [];
                if (file) spoken.choose(file);
              }} />
            </label>
          </div>
        </Notice>
      ) : null}
      {spoken.cannotKeep ? <p>{words.cannotKeep}</p> : null}
      {isFolded || (note && !isBusy) ? null : <p className={styles.help}>{words.help}</p>}
      {isWaiting && isBusy ? (
        <Notice kind="caution">
          <p>{words.waiting}</p>
          <p><Button kind="quiet" onClick={spoken.leaveOut}>{words.leaveOut}</Button></p>
        </Notice>
      ) : null}
      <output><Unseen>{words.state[isOn && leftMs <= 30_000 ? "soon" : work.at] ?? ""}</Unseen></output>
    </section>
  );
}

/** Speech close to a microphone lies around -20 to -30 dB of full scale: common practice, no source. */
const levelOf = (level: number): "none" | "quiet" | "good" | "loud" => (level < 0.2 ? "none" : level < 0.42 ? "quiet" : level < 0.9 ? "good" : "loud");

const fill = (sentence: string, values: Readonly<Record<string, string | number>> = {}): string =>
  sentence.replace(/\{(\w+)\}/g, (whole, name: string) => String(values[name] ?? whole));
