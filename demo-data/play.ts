import { renderFilm } from "@/demo-data/scene/film";
import { renderScene, type RenderedScene } from "@/demo-data/scene/scene";
import { PRACTICE, type CurveEntry, type DemoEvent, type Judged, type Shot } from "@/demo-data/scenario";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { takeInClip } from "@/lib/clips/intake";
import { checkCurveRecord, type CurveRecordDraft, type FindingDraft } from "@/lib/domain/curve/check-record";
import { REGIONS, type Region } from "@/lib/domain/curve/region";
import type { Mark } from "@/lib/domain/marks/marks";
import { photoPoint } from "@/lib/domain/marks/geometry";
import type { Result } from "@/lib/domain/result";
import { addDays, localDate } from "@/lib/domain/time/local";
import { offerCue } from "@/lib/domain/words/cue";
import { consentText } from "@/lib/messages/consent-text";
import { say } from "@/lib/messages/say";
import { takeIn } from "@/lib/photos/intake";
import { deskOf } from "@/lib/records/answering";
import { sendAnswer } from "@/lib/records/answers";
import { entryOf } from "@/lib/records/answers-read";
import { askFamily } from "@/lib/records/back-questions";
import { addClip } from "@/lib/records/clips";
import { decideConsent } from "@/lib/records/consents";
import { cuesFor } from "@/lib/records/cues";
import { recordCurve } from "@/lib/records/curve-records";
import { addPhoto } from "@/lib/records/photo-sets";
import { markDone } from "@/lib/records/practice-days";
import { askQuestion, replyTo } from "@/lib/records/questions";
import { sendPhotoSet } from "@/lib/records/sending";
import { confirmSetup, openPhase, proposedSetup } from "@/lib/records/setups";
import { reportSymptoms } from "@/lib/records/symptoms";

const EXERCISE = "side-lying";
const MINUTE_MS = 60_000;
/** A fixed, made-up size: large enough for the desk, small enough for a quick first start. */
const PICTURE = { width: 1280, height: 960 };

type SentShot = { readonly photoId: string; readonly truth: RenderedScene["truth"] };
export type Cast = {
  readonly lead: Actor;
  readonly therapist: Actor;
  readonly guardian: Actor;
  readonly childId: string;
  readonly looks: number;
  /** What was asked, by the scenario's key. */
  readonly questions: Map<string, string>;
  /** What was sent, by the scenario's key. */
  readonly sets: Map<string, { readonly setId: string; readonly shots: readonly SentShot[] }>;
};

/** Plays one event of the scenario by the app's own act. Throws when the app refuses it. */
export async function play(cast: Cast, event: DemoEvent, at: number, now: number): Promise<void> {
  const { lead, guardian, childId } = cast;
  switch (event.do) {
    case "consent": {
      const { version } = consentText("photos", guardian.reader);
      const granted = await grant(guardian, "consent.give", childId);
      return must(await decideConsent(granted, { purpose: "photos", decision: "given", standing: "parent", textVersion: version }, at));
    }
    case "record": {
      const { draft, confirmations } = curveEntry(event.curves, at, event.reassessInDays);
      return must(await recordCurve(await grant(lead, "curve-record.write", childId), { draft, said: confirmations, note: "", basedOn: null }, at));
    }
    case "confirm": {
      const { record, exercise, resolution } = await proposedSetup(await grant(lead, "child.read", childId), EXERCISE);
      if (record === null || resolution.coverage === "not-covered") throw new Error("the demo confirms a set-up that the rules refuse");
      const confirmed = { exerciseKey: EXERCISE, exerciseVersion: exercise.version, recordId: record.id, apexSpot: event.apexSpot, lieOn: resolution.setup.lieOn };
      return must(await confirmSetup(await grant(lead, "setup.confirm", childId), confirmed, at));
    }
    case "open":
      return must(await openPhase(await grant(lead, "phase.open", childId), EXERCISE, event.phase, at));
    case "send":
      return send(cast, event, at, now);
    case "answer":
      return answer(cast, event, at);
    case "symptom":
      return must(await reportSymptoms(await grant(guardian, "symptom.report", childId), { noticed: event.symptoms, note: event.note, photoSetId: null }, at));
    case "asks":
      return asks(cast, event, at);
    case "reply":
      return must(await replyTo(await grant(cast[event.by], "question.reply", childId), { questionId: known(cast.questions, event.question), words: event.words, sideReason: "", wordsConfirmed: false }, at));
    case "asks-back":
      return must(await askFamily(await grant(cast[event.by], "back-question.ask", childId), { photoSetId: known(cast.sets, event.set).setId, words: event.words, sideReason: "", wordsConfirmed: false }, at));
    case "practised":
      return must(await markDone(await grant(guardian, "practice-day.mark", childId), EXERCISE, at));
  }
}

async function send(cast: Cast, event: Extract<DemoEvent, { do: "send" }>, at: number, now: number): Promise<void> {
  const granted = await grant(cast.guardian, "photo-set.send", cast.childId);
  const proposed = await deskSetup(cast);
  const setId = crypto.randomUUID();
  const shots: SentShot[] = [];
  for (const [index, shot] of event.shots.entries()) {
    const scene = { lieOn: proposed.lieOn, seed: cast.looks, view: shot.view === "other" ? "behind" : shot.view, topArm: proposed.topArm, ...framing(cast.looks, event.at[0]), ...PICTURE, ...shot.scene };
    const { jpeg, truth } = await renderScene(scene);
    const prepared = value(await takeIn(jpeg));
    const place = { setId, exerciseKey: EXERCISE, ordinal: ORDINALS[index] ?? 4, view: shot.view };
    const stored = value(await addPhoto(granted, place, prepared, at - MINUTE_MS, at));
    if (shot.isFilmed) must(await addClip(granted, { uploadId: crypto.randomUUID(), photoId: stored.photoId }, value(await takeInClip(await renderFilm(scene))), at));
    shots.push({ photoId: stored.photoId, truth });
  }
  const photos = shots.map(({ photoId, truth }, index) => ({
    photoId, view: (event.shots[index] as Shot).view, head: truth.points.head, facing: truth.facing ?? ("unsure" as const), // made from the same list
  }));
  const none = { noticed: [], isNone: true };
  const input = { setId, exerciseKey: EXERCISE, setupId: proposed.setupId, photos, taken: null, symptoms: { urgent: none, today: none }, note: event.note ?? "" };
  must(await sendPhotoSet(granted, input, Math.min(at, now)));
  cast.sets.set(event.key, { setId, shots });
}

/** No parent holds a phone twice the same way, nor does the sun stand twice the same; alike pictures would all be pointed out as the same one. */
function framing(looks: number, daysAgo: number): { readonly tilt: number; readonly windowAt: "left" | "right"; readonly light: number } {
  return { tilt: ((looks * 3 + daysAgo * 5) % 11) - 5, windowAt: (looks + Math.floor(daysAgo / 7)) % 2 === 0 ? "left" : "right", light: 0.6 + ((looks + daysAgo) % 5) / 20 };
}

const ORDINALS = [1, 2, 3, 4] as const;

/** The set-up in force: what the child is laid in. */
async function deskSetup(cast: Cast) {
  const { readSetup } = await import("@/lib/records/child-facts");
  const granted = await grant(cast.lead, "child.read", cast.childId);
  const setup = readSetup(granted, EXERCISE);
  if (!setup) throw new Error("the demo sends a photo before a set-up is confirmed");
  const { lieOn, topArm } = setup.resolution.setup;
  return { setupId: setup.id, lieOn, topArm: topArm.position };
}

async function answer(cast: Cast, event: Extract<DemoEvent, { do: "answer" }>, at: number): Promise<void> {
  const sent = cast.sets.get(event.set);
  if (!sent) throw new Error("the demo answers a set that was not sent");
  const granted = await grant(cast[event.by], "answer.write", cast.childId);
  const desk = await deskOf(granted, sent.setId, at);
  if (!desk) throw new Error("the demo's set is not there to answer");
  const { setup } = desk.set.resolution;
  const side = say("common");
  const library = await cuesFor(await grant(cast[event.by], "cues.read", null), EXERCISE, desk.set.rows.map((row) => row.item.key), at);
  const verdicts = desk.set.rows.filter((row) => row.isAsked || row.item.key in event.judged).map(({ item }) => {
    const verdict = event.judged[item.key] ?? "in-place";
    const first = verdict === "fix" ? library.find((each) => each.itemKey === item.key) : undefined;
    return { itemKey: item.key, verdict, cue: first ? value(offerCue(first.words, setup, (each) => side("side", { side: each }))) : null, cueId: first?.id ?? null };
  });
  const input = {
    photoSetId: sent.setId, verdicts, summary: event.summary, nextStep: nextStep(event.judged), nextView: null,
    sideReason: "", wordsConfirmed: false, marks: event.ringOn ? [ringOn(event.ringOn, sent.shots)] : [], spans: [], pairs: pairWith(cast, event.pairWith, sent.shots), voiceNoteId: null,
  };
  must(await sendAnswer(granted, input, at));
}

async function asks(cast: Cast, event: Extract<DemoEvent, { do: "asks" }>, at: number): Promise<void> {
  const entry = await entryOf(await grant(cast.guardian, "child.read", cast.childId), known(cast.sets, event.set).setId, at);
  if (!entry?.answer) throw new Error("the demo asks about an answer that is not there");
  const asked = await askQuestion(await grant(cast.guardian, "question.ask", cast.childId), { answerId: entry.answer.answerId, words: event.words }, at);
  cast.questions.set(event.key, value(asked).questionId);
}

function known<T>(all: ReadonlyMap<string, T>, key: string): T {
  const found = all.get(key);
  if (found === undefined) throw new Error(`the demo has nothing called ${key} yet`);
  return found;
}

/** The first photo of an earlier set beside the first one of this. */
function pairWith(cast: Cast, set: string | undefined, shots: readonly SentShot[]) {
  const [then, now] = [set === undefined ? undefined : cast.sets.get(set)?.shots[0], shots[0]];
  return then && now ? [{ thenPhotoId: then.photoId, nowPhotoId: now.photoId }] : [];
}

const nextStep = (judged: Judged) => (Object.values(judged).includes("fix") ? ("new-photo" as const) : ("keep-going" as const));

const SPOT: Readonly<Record<string, keyof RenderedScene["truth"]["points"]>> = {
  "elbow-high": "elbow", "prop-low-back": "prop", "bottom-knee-bent": "knee", "top-leg-straight": "topKnee", "bottom-arm-long": "shoulder",
};

/** A ring round the item's true place in the first photo, with an arrow to where the prop belongs. */
function ringOn(itemKey: string, shots: readonly SentShot[]): { readonly photoId: string; readonly marks: readonly Mark[] } {
  const [shot] = shots;
  const spot = SPOT[itemKey];
  if (!shot || !spot) throw new Error("the demo marks a place that is not known");
  const { x, y } = shot.truth.points[spot];
  const ring: Mark = { id: "ring", kind: "ring", itemKey, center: photoPoint(x, y), radiusX: 0.06, radiusY: 0.08 };
  const { apex } = shot.truth.points;
  const arrow: Mark = { id: "arrow", kind: "arrow", itemKey, from: photoPoint(x, y), to: photoPoint(apex.x, apex.y) };
  return { photoId: shot.photoId, marks: itemKey === "prop-low-back" ? [ring, arrow] : [ring] };
}

/** A record as a careful therapist enters it: every region said, every side read back, every warning looked at. */
function curveEntry(curves: readonly CurveEntry[], at: number, reassessInDays: number) {
  const today = localDate(at, PRACTICE.timeZone);
  const finding = (region: Region): FindingDraft => {
    const curve = curves.find((each) => each.region === region);
    return curve ? { state: "curve", convexSide: curve.side, apex: curve.apex, cobbDegrees: curve.cobb } : { state: "none" };
  };
  const regions = Object.fromEntries(REGIONS.map((region) => [region, finding(region)])) as Record<Region, FindingDraft>; // one entry a region
  const sideOf = (region: Region) => curves.find((each) => each.region === region)?.side ?? ("none" as const);
  const draft: CurveRecordDraft = {
    assessedOn: addDays(today, -2), source: "radiograph", filmViewedFrom: "behind", regions,
    prominence: { ribs: sideOf("thoracic"), lowBack: sideOf("lumbar") }, reassessBy: addDays(today, reassessInDays), therapistCounts: [],
  };
  const readBack = Object.fromEntries(curves.map((curve) => [curve.region, curve.side]));
  const unread = { readBack, onPicture: {}, acknowledged: [] };
  const { warnings } = checkCurveRecord(draft, unread, today);
  return { draft, confirmations: { ...unread, acknowledged: warnings.map((warning) => warning.id) } };
}

function value<T>(result: Result<T>): T {
  if (!result.ok) throw new Error(`the app refuses the demo: ${result.problem.code} ${result.problem.field ?? ""}`);
  return result.value;
}

const must = (result: Result<unknown>): void => {
  value(result);
};
