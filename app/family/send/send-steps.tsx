"use client";

import { useEffect, useState } from "react";
import { BROWSER } from "@/app/family/queue/line";
import { bringQueue, useQueue } from "@/app/family/queue/use-queue";
import { AddPhoto } from "@/app/family/send/add-photo";
import { AddClip } from "@/app/family/send/clip/add-clip";
import { CheckPhoto } from "@/app/family/send/check-photo";
import { KeptSet } from "@/app/family/send/kept-set";
import { stepSaid, type Step } from "@/app/family/send/step-names";
import { asksWhen, isDone, saidOf, type Photo, type Words } from "@/app/family/send/steps";
import { isAnswered, SymptomStep, UNANSWERED, type SymptomWords } from "@/app/family/send/symptom-step";
import { removePhoto, type Failure } from "@/app/family/send/upload";
import { Button } from "@/app/ui/button";
import { Notice } from "@/app/ui/notice";
import { Row, Stack } from "@/app/ui/stack";
import { StepHeading } from "@/app/ui/step-heading";
import { CLIP_PLACE, noticedIn, type Entry } from "@/lib/domain/sending/entry";
import { outcomeOf } from "@/lib/domain/sending/reply";
import type { View } from "@/lib/domain/setup/vocabulary";
import type { Side } from "@/lib/domain/sides";
import { tierOf } from "@/lib/domain/symptoms/symptoms";

const TITLES: Readonly<Record<Step, string>> = { photos: "photosTitle", symptoms: "symptomTitle", last: "lastTitle" };
const TAKEN = ["just-now", "earlier-today", "before"] as const;

const keptStore = () => import("@/app/family/kept/store");

/** Who sends what for whom. */
export type SendingFor = {
  readonly personId: string;
  readonly childId: string;
  readonly exerciseKey: string;
  readonly setupId: string;
  /** Child and exercise, as the family reads them. */
  readonly called: string;
  /** The numbers of the child's side cards. */
  readonly cards: readonly string[];
  /** Whether the consent in force names clips. */
  readonly mayFilm: boolean;
};

/** What was chosen before all this was here. */
export type FirstPhoto = { readonly file: File; readonly view: View };

/** The photos and their checks, how the child feels, and the last look; then all of it waits on this phone and goes by itself. */
export function SendSteps({ first, sending, lieOn, lastAnswerAt, words, queueWords, problemWords, emergency, symptoms }: {
  readonly first: FirstPhoto;
  readonly sending: SendingFor;
  readonly lieOn: Side;
  readonly lastAnswerAt: number | null;
  readonly words: Words;
  readonly queueWords: Words;
  readonly problemWords: Words;
  readonly emergency: string;
  readonly symptoms: SymptomWords;
}) {
  const { personId, childId, exerciseKey, setupId, called, cards, mayFilm } = sending;
  const [setId] = useState(() => crypto.randomUUID());
  const [step, setStep] = useState<Step>("photos");
  const [chosen, setChosen] = useState<FirstPhoto | null>(first);
  const [photos, setPhotos] = useState<readonly Photo[]>([]);
  /** Taken out while there was no line, by the server's id: the queue says so before it finishes the set. */
  const [removed, setRemoved] = useState<readonly string[]>([]);
  const [taken, setTaken] = useState<(typeof TAKEN)[number] | null>(null);
  const [felt, setFelt] = useState(UNANSWERED);
  const [report, setReport] = useState<Entry["report"]>(null);
  const [note, setNote] = useState("");
  const [busy, setBusy] = useState<"" | "telling" | "keeping">("");
  const [problem, setProblem] = useState<string | null>(null);
  const [kept, setKept] = useState<"phone" | "page" | null>(null);
  const [queue, shown] = useQueue(personId);

  useEffect(() => {
    // While there is a line: a report is written down where there may be none.
    keptStore().catch(() => undefined);
    bringQueue(personId).catch(() => undefined); // asked for again with the last press
  }, [personId]);

  const sentence = ({ code, values }: Failure) =>
    (problemWords[code] ?? problemWords["other"] ?? "").replace(/\{(\w+)\}/g, (whole, name: string) => String(values?.[name] ?? whole));
  const ordinal = [1, 2, 3, 4].find((each) => !photos.some((photo) => photo.ordinal === each));
  const whenAsked = asksWhen(photos, lastAnswerAt);
  const areReady = photos.length > 0 && photos.every((photo) => isDone(saidOf(photo, lieOn))) && (!whenAsked || taken !== null);
  const noticed = noticedIn({ symptoms: felt });

  /** Told at once where there is a line; where there is none the way goes on, and every screen says that it was not. */
  async function leaveSymptoms(): Promise<void> {
    const tier = tierOf(noticed);
    if (tier) {
      setBusy("telling");
      // A new key each time: what was noticed may have changed; the same things are kept once.
      const key = crypto.randomUUID();
      const said = { key, personId, childId, noticed, tier, note, photoSetId: setId, writtenAt: Date.now(), sentAt: null };
      // What is kept on this phone stops at once; should that fail, the screens still say what to do.
      await keptStore().then(({ writeDown }) => writeDown("reports", said)).catch(() => undefined);
      const headers = { "Content-Type": "application/json", "Idempotency-Key": key, "X-Person": personId };
      const reply = await BROWSER.ask({ path: `/api/symptoms/${childId}`, headers, body: JSON.stringify({ noticed, note, photoSetId: setId }) }, () => undefined);
      const isTold = outcomeOf(reply).kind === "done";
      if (isTold) await keptStore().then(({ arrived }) => arrived("reports", key, personId, Date.now())).catch(() => undefined);
      setReport(isTold ? null : { key, tier });
      setBusy("");
    } else setReport(null);
    setStep("last");
  }

  async function keep(): Promise<void> {
    setBusy("keeping");
    setProblem(null);
    try {
      const made: Entry = {
        id: setId, personId, childId, exerciseKey, setupId, called, madeAt: Date.now(), report, finishKey: crypto.randomUUID(),
        taken: whenAsked ? taken : null, symptoms: felt, note, photos: photos.map(waitingPhoto), removed,
        state: { at: "waiting", because: "new", until: Date.now() }, tries: 0, restarts: 0, ...formOf(photos),
      };
      const pictures = [...await Promise.all(photos.flatMap(picturesOf)), ...photos.flatMap(({ clip }) => (clip ? [[CLIP_PLACE, clip.bytes] as const] : []))];
      setKept(await (await bringQueue(personId)).add(made, new Map(pictures)));
    } catch {
      setProblem(words["lost"] ?? "");
    } finally {
      setBusy("");
    }
  }

  async function takeOut(photo: Photo): Promise<void> {
    const { place } = photo;
    if (place.on === "phone") place.made.close();
    else if (!(await removePhoto(childId, place.photoId))) setRemoved((all) => [...all, place.photoId]);
    setPhotos((all) => all.filter(({ key }) => key !== photo.key));
  }

  if (kept && queue) return <KeptSet id={setId} kept={kept} queue={queue} shown={shown} words={queueWords} goTo={noticed.length > 0 ? "/family" : "/family/history"} />;
  return (
    <section aria-labelledby="send-step">
      <Stack>
        <StepHeading id="send-step" words={stepSaid(words, step)}>{words[TITLES[step]]}</StepHeading>
        {problem ? <Notice kind="problem">{problem}</Notice> : null}
        {photos.length > 0 || chosen ? <span hidden data-unsent="true" /> : null}
        {step === "photos" ? (
          <>
            {photos.map((photo) => (
              <section key={photo.key} aria-label={(words["photo"] ?? "").replace("{n}", String(photo.ordinal))}>
                {photo.clip ? <p><strong>{words["clipWith"]}</strong></p> : null}
                <CheckPhoto photo={photo} childId={childId} lieOn={lieOn} words={words} onRemove={() => void takeOut(photo)}
                  onChange={(next) => setPhotos((all) => all.map((each) => (each.key === next.key ? next : each)))} />
              </section>
            ))}
            {ordinal === undefined ? null : (
              <AddPhoto first={chosen} place={{ personId, childId, setId, exerciseKey, ordinal }} cards={cards} words={words} sentence={sentence}
                onTaken={() => setChosen(null)} onAdded={(photo) => setPhotos((all) => [...all, photo])} />
            )}
            {ordinal === undefined || photos.length === 0 || photos.some(({ clip }) => clip) ? null : !mayFilm ? (
              // In a new tab, so that the photos stay here.
              <p>{words["clipConsent"]} <a href={`/family/consent/${childId}`} target="_blank" rel="noreferrer">{words["clipToConsent"]}</a></p>
            ) : (
              <AddClip ordinal={ordinal} cards={cards} words={words} sentence={sentence} onAdded={(photo) => setPhotos((all) => [...all, photo])} />
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
              {words["note"]} <small>{words["shared"]}</small>
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
            {report ? <Notice kind="stop" title={queueWords[report.tier]}><strong>{queueWords["notTold"]}</strong> {queueWords["notToldDo"]}</Notice>
              : felt.urgent.noticed.length > 0 ? <Notice kind="stop" title={emergency}>{words["stopNow"]}</Notice> : null}
            <p id="last-look"><strong>{words["this"]}</strong></p>
            <Row>
              <Button kind="quiet" onClick={() => setStep("symptoms")}>{words["back"]}</Button>
              <Button disabled={busy !== ""} aria-describedby="last-look" onClick={() => void keep()}>{busy === "keeping" ? words["sending"] : words["send"]}</Button>
            </Row>
          </>
        ) : null}
      </Stack>
    </section>
  );
}

/** What goes into the queue of a checked photo. */
function waitingPhoto({ key, ordinal, view, head, facing, place, isTurnedBack }: Photo): Entry["photos"][number] {
  const said = { key, ordinal, view, head, facing };
  return place.on === "phone"
    ? { ...said, isSeenTurnedBack: isTurnedBack, prepared: JSON.stringify(place.made.onPhone), photoId: null }
    : { ...said, isSeenTurnedBack: null, prepared: null, photoId: place.photoId };
}

function formOf(photos: readonly Photo[]): Pick<Entry, "form" | "clip"> {
  const moving = photos.find(({ clip }) => clip);
  const turns = moving?.place.on === "phone" ? moving.place.made.turns : 0;
  return moving?.clip ? { form: 2, clip: { key: moving.clip.key, ordinal: moving.ordinal, bytes: moving.clip.bytes.byteLength, ...(moving.takenAt === null ? {} : { takenAt: moving.takenAt }), ...(turns === 0 ? {} : { turns }), hasArrived: false } } : { form: 1 };
}

const picturesOf = ({ ordinal, place }: Photo): readonly Promise<readonly [number, ArrayBuffer]>[] =>
  (place.on === "phone" ? [place.made.bytes.arrayBuffer().then((bytes) => [ordinal, bytes] as const)] : []);
