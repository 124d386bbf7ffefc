"use client";

import { useState } from "react";
import { reportWhileSendingAction, sendAction } from "@/app/family/actions";
import { AddPhoto } from "@/app/family/send/add-photo";
import { CheckPhoto } from "@/app/family/send/check-photo";
import { arrived, asksWhen, isDone, saidOf, type Photo, type Words } from "@/app/family/send/steps";
import { isAnswered, SymptomStep, UNANSWERED, type SymptomWords } from "@/app/family/send/symptom-step";
import { removePhoto, type Failure } from "@/app/family/send/upload";
import { Button } from "@/app/ui/button";
import { Notice } from "@/app/ui/notice";
import { Row, Stack } from "@/app/ui/stack";
import { StepHeading } from "@/app/ui/step-heading";
import type { Side } from "@/lib/domain/sides";

const STEPS = ["photos", "symptoms", "last"] as const;
type Step = (typeof STEPS)[number];
const TITLES: Readonly<Record<Step, string>> = { photos: "photosTitle", symptoms: "symptomTitle", last: "lastTitle" };
const TAKEN = ["just-now", "earlier-today", "before"] as const;
const NO_OUTCOME = { problem: null, typed: {}, isDone: false };

/** The photos and their checks, how the child feels, and the last look. What was given stays on a problem. */
export function SendSteps({ childId, exerciseKey, setupId, lieOn, lastAnswerAt, words, problemWords, emergency, symptoms }: {
  readonly childId: string;
  readonly exerciseKey: string;
  readonly setupId: string;
  readonly lieOn: Side;
  readonly lastAnswerAt: number | null;
  readonly words: Words;
  readonly problemWords: Words;
  readonly emergency: string;
  readonly symptoms: SymptomWords;
}) {
  const [ids] = useState(() => ({ set: crypto.randomUUID(), once: crypto.randomUUID() }));
  const [step, setStep] = useState<Step>("photos");
  const [photos, setPhotos] = useState<readonly Photo[]>([]);
  const [taken, setTaken] = useState<string | null>(null);
  const [felt, setFelt] = useState(UNANSWERED);
  const [note, setNote] = useState("");
  const [busy, setBusy] = useState<"" | "telling" | "sending">("");
  const [problem, setProblem] = useState<string | null>(null);

  const sentence = ({ code, values }: Failure) =>
    (problemWords[code] ?? problemWords["other"] ?? "").replace(/\{(\w+)\}/g, (whole, name: string) => String(values?.[name] ?? whole));
  const ordinal = [1, 2, 3, 4].find((each) => !photos.some((photo) => photo.ordinal === each));
  const whenAsked = asksWhen(photos, lastAnswerAt);
  const areReady = photos.length > 0 && photos.every((photo) => isDone(saidOf(photo, lieOn))) && (!whenAsked || taken !== null);
  const noticed = [...felt.urgent.noticed, ...felt.today.noticed];

  /** Runs one act; true when it is done. A lost line keeps everything and its key, so that pressing again repeats the same act. */
  async function run(state: "telling" | "sending", act: (form: FormData) => Promise<{ readonly problem: Failure | null; readonly isDone: boolean }>, fields: readonly (readonly [string, string])[]): Promise<boolean> {
    setBusy(state);
    setProblem(null);
    const form = new FormData();
    for (const [name, value] of [["childId", childId] as const, ...fields]) form.append(name, value);
    try {
      const outcome = await act(form);
      if (outcome.problem) setProblem(sentence(outcome.problem));
      return outcome.isDone;
    } catch {
      setProblem(words["lost"] ?? "");
      return false;
    } finally {
      setBusy("");
    }
  }

  async function leaveSymptoms(): Promise<void> {
    const fields = [...noticed.map((key) => ["noticed", key] as const), ["note", note] as const, ["photoSetId", ids.set] as const];
    // A new key each time: what was noticed may have changed; the same things are kept once.
    const isTold = noticed.length === 0 || await run("telling", (form) => reportWhileSendingAction(NO_OUTCOME, form), [["once", crypto.randomUUID()], ...fields]);
    if (isTold) setStep("last");
  }

  async function send(): Promise<void> {
    const set = {
      setId: ids.set, exerciseKey, setupId, photos: photos.map(({ photoId, view, head, facing }) => ({ photoId, view, head, facing })),
      taken: whenAsked ? taken : null, symptoms: felt, note,
    };
    const isSent = await run("sending", (form) => sendAction(NO_OUTCOME, form), [["once", ids.once], ["set", JSON.stringify(set)]]);
    if (isSent) window.location.assign(noticed.length > 0 ? "/family" : "/family/history");
  }

  async function takeOut(photo: Photo): Promise<void> {
    if (await removePhoto(childId, photo.photoId)) setPhotos((all) => all.filter((each) => each !== photo && each.photoId !== photo.photoId));
    else setProblem(words["lost"] ?? "");
  }

  const at = STEPS.indexOf(step);
  const stepWords = (words["stepOf"] ?? "").replace("{step}", String(at + 1)).replace("{of}", String(STEPS.length));
  return (
    <Stack>
      <StepHeading words={stepWords}>{words[TITLES[step]]}</StepHeading>
      {problem ? <Notice kind="problem">{problem}</Notice> : null}
      {step === "photos" ? (
        <>
          {photos.map((photo) => (
            <section key={photo.photoId} aria-label={(words["photo"] ?? "").replace("{n}", String(photo.ordinal))}>
              <CheckPhoto photo={photo} childId={childId} lieOn={lieOn} words={words} onRemove={() => void takeOut(photo)}
                onChange={(next) => setPhotos((all) => all.map((each) => (each.photoId === next.photoId ? next : each)))} />
            </section>
          ))}
          {ordinal === undefined ? null : (
            <AddPhoto place={{ childId, setId: ids.set, exerciseKey, ordinal }} words={words} sentence={sentence}
              onArrived={(photo, place, view) => setPhotos((all) => [...all, arrived(photo, place, view)])} />
          )}
          {photos.length > 0 && whenAsked ? (
            <fieldset>
              <legend>{words["takenTitle"]}</legend>
              <Row>
                {TAKEN.map((each) => (
                  <Button key={each} kind={taken === each ? "primary" : "quiet"} aria-pressed={taken === each} onClick={() => setTaken(each)}>{words[`taken-${each}`]}</Button>
                ))}
              </Row>
            </fieldset>
          ) : null}
          <Button disabled={!areReady} onClick={() => setStep("symptoms")}>{words["next"]}</Button>
        </>
      ) : null}
      {step === "symptoms" ? (
        <>
          <SymptomStep state={felt} symptoms={symptoms} words={words} emergency={emergency} onChange={setFelt} />
          <label>
            {words["note"]}
            <textarea rows={3} maxLength={2000} value={note} onChange={(event) => setNote(event.target.value)} />
          </label>
          <Row>
            <Button kind="quiet" onClick={() => setStep("photos")}>{words["back"]}</Button>
            <Button disabled={!isAnswered(felt) || busy !== ""} onClick={() => void leaveSymptoms()}>{busy === "telling" ? words["telling"] : words["next"]}</Button>
          </Row>
        </>
      ) : null}
      {step === "last" ? (
        <>
          {felt.urgent.noticed.length > 0 ? <Notice kind="stop" title={emergency}>{words["stopNow"]}</Notice> : null}
          <p><strong>{words["this"]}</strong></p>
          <Row>
            <Button kind="quiet" onClick={() => setStep("symptoms")}>{words["back"]}</Button>
            <Button disabled={busy !== ""} onClick={() => void send()}>{busy === "sending" ? words["sending"] : words["send"]}</Button>
          </Row>
        </>
      ) : null}
    </Stack>
  );
}
