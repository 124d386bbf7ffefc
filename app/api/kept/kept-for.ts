import "server-only";
import { childrenToday, type ChildToday } from "@/app/family/children-today";
import { notCovered, setupLabel, shownSetup } from "@/app/family/words";
import type { Actor } from "@/lib/access/actor";
import { KEPT_CLIPS, KEPT_VERSION, type Kept, type KeptChild, type KeptClip, type KeptExercise, type KeptSetup } from "@/lib/domain/kept/kept";
import { KeptForm } from "@/lib/domain/kept/kept.schema";
import { KEPT_DAYS } from "@/lib/domain/kept/today";
import { KEPT_WORDS } from "@/lib/domain/kept/words";
import { formatDate } from "@/lib/domain/time/format";
import { addDays, instantOf, localDate } from "@/lib/domain/time/local";
import type { Reader } from "@/lib/domain/words/reader";
import type { Area } from "@/lib/messages/catalogue";
import { clipWords } from "@/lib/messages/clip-words";
import { playerWords } from "@/lib/messages/player-words";
import { say } from "@/lib/messages/say";
import { doing, limbs, sideAndProp } from "@/lib/messages/setup-words";
import type { NewestClip } from "@/lib/records/newest-answer";
import { practiceToCall } from "@/lib/records/family-home";
import { personName, type Standing } from "@/lib/records/standing";

/** Checked against its own form before it leaves: what is on a phone is nobody's to look through. */
export async function keptFor(actor: Actor, now: number): Promise<Kept> {
  const children = withFewClips((await childrenToday(actor, now)).map((child) => keptChild(child, actor)));
  const kept: Kept = {
    version: KEPT_VERSION, personId: actor.personId, checkedAt: now, language: actor.reader.locale,
    dates: Object.fromEntries([now, ...children.flatMap(instantsOf)].map((at) => [String(at), formatDate(at, actor.timeZone, actor.reader.locale)])),
    days: daysFrom(now, actor),
    names: namesOf(children, actor), words: wordsFor(actor), children,
  };
  return KeptForm.parse(kept);
}

function keptChild({ childId, cards, tries }: ChildToday, actor: Actor): KeptChild {
  const family = say("family", actor.reader);
  const name = cards[0]?.standing.childName ?? "";
  const question = (of: "side" | "prop" | "practise") => family(`readBack.question.${of}`, { child: name });
  return {
    childId, name, stopFor: family("stopFor", { child: name }),
    questions: { side: question("side"), prop: question("prop"), practise: question("practise") },
    tries, exercises: cards.map((card) => keptExercise(card, actor)),
  };
}

/** The first ones that are small enough, of all children together; the page says of the others that they open with signal. */
function withFewClips(children: readonly KeptChild[]): readonly KeptChild[] {
  let left: number = KEPT_CLIPS.most;
  const kept = (clip: KeptClip): KeptClip => (clip.address !== null && (left -= 1) >= 0 ? clip : { ...clip, address: null });
  return children.map((child) => ({ ...child, exercises: child.exercises.map((exercise) => ({ ...exercise, clip: exercise.clip && kept(exercise.clip) })) }));
}

function keptExercise({ standing, picture, note, clip }: ChildToday["cards"][number], actor: Actor): KeptExercise {
  const { childId, childName: child, names, facts, judged } = standing;
  const family = say("family", actor.reader);
  const setup = shownSetup(standing);
  const instead = standing.isNotCovered ? notCovered(standing, actor) : family("notShown");
  const keys = new Set([...(facts.setup?.items ?? []).map((item) => item.key), ...judged.map((each) => each.itemKey)]);
  // As on the page: words said under an earlier set-up may name the side that is wrong now.
  const heard = setup && note && note.answeredAt >= setup.confirmedAt ? note : null;
  return {
    title: family("card.of", { exercise: names.title, child }),
    facts: {
      ...facts,
      setup: facts.setup && { ...facts.setup, items: facts.setup.items.map(({ key, phase, requiredForGo, isStop, sideDependent }) => ({ key, phase, requiredForGo, isStop, sideDependent })) },
      verdicts: judged,
    },
    sides: standing.setup?.resolution.setup ?? null,
    setup: setup && keptSetup(standing, setup, actor.reader),
    instead: setup ? null : instead,
    itemTitles: Object.fromEntries([...keys].map((key) => [key, names.itemTitle(key)])),
    languages: languagesIn([names.title, ...names.cautions, ...[...keys].map(names.itemTitle), ...judged.map(({ cue }) => cue ?? "")], names),
    picture: setup && picture && {
      address: `/media/${childId}/${picture.photoId}/marked`, width: picture.width, height: picture.height,
      alt: family("card.notLikeThisAlt", { date: formatDate(picture.answeredAt, actor.timeZone, actor.reader.locale) }),
    },
    note: heard && {
      address: `/media/${childId}/voice/${heard.voiceNoteId}`, summary: heard.summary,
      title: playerWords(heard.durationMs, actor.reader, formatDate(heard.answeredAt, actor.timeZone, actor.reader.locale)).title,
    },
    // One that was answered under an earlier set-up may show the side that is wrong now.
    clip: setup && clip && clip.answeredAt >= setup.confirmedAt ? keptClip(clip, childId, actor) : null,
  };
}

function keptClip({ photoId, view, isTurnedBack, sentAt, byteLength, durationMs, frames, width, height, turns }: NewestClip, childId: string, { reader, timeZone }: Actor): KeptClip {
  const [kept, date] = [say("kept", reader), formatDate(sentAt, timeZone, reader.locale)];
  return {
    address: byteLength <= KEPT_CLIPS.maxBytes ? `/media/${childId}/${photoId}/clip` : null, width, height, frames, durationMs, isTurnedBack, turns,
    title: clipWords(durationMs, say("family", reader)(`history.viewIs.${view}`), reader).title, about: kept("clip", { date }), instead: kept("clipOnline", { date }),
  };
}

/** As on the page: a text without a translation stands in English, and a voice must read it so. */
const languagesIn = (texts: readonly string[], { languageOf }: Standing["names"]): KeptExercise["languages"] =>
  Object.fromEntries(texts.flatMap((text) => {
    const language = languageOf(text);
    return language && text !== "" ? [[text, language] as const] : [];
  }));

function keptSetup({ childName: child, names }: Standing, setup: NonNullable<ReturnType<typeof shownSetup>>, reader: Reader): KeptSetup {
  return {
    sideAndProp: sideAndProp(setup, reader), limbs: limbs(setup, reader), doing: doing(setup, reader), cautions: names.cautions,
    individual: setup.kind === "individual" ? say("family", reader)("individual", { child }) : null, label: setupLabel(setup, child, reader),
  };
}

/** Every instant a reason may name. */
const instantsOf = ({ exercises }: KeptChild): readonly number[] => exercises.flatMap(({ facts }) => [
  ...[facts.record?.reassessBy, facts.setup?.confirmedAt].filter((at) => at !== null && at !== undefined),
  ...facts.phasesOpened.map((each) => each.openedAt), ...facts.verdicts.map((each) => each.judgedAt),
  ...facts.symptomStops.map((each) => each.reportedAt), ...facts.staffStops.map((each) => each.placedAt),
]);

/** One day more than it may be used for: the last one ends within its day. */
function daysFrom(now: number, { timeZone, reader }: Actor): Kept["days"] {
  const today = localDate(now, timeZone);
  return Array.from({ length: KEPT_DAYS + 2 }, (_, n) => instantOf(addDays(today, n), 0, timeZone)).map((from) => ({ from, said: formatDate(from, timeZone, reader.locale) }));
}

function namesOf(children: readonly KeptChild[], { practiceId }: Actor): Kept["names"] {
  const ids = new Set(children.flatMap(({ exercises }) => exercises).flatMap(({ facts }) => [
    facts.setup?.confirmedBy ?? null, ...facts.phasesOpened.map((each) => each.openedBy),
    ...facts.verdicts.map((each) => each.judgedBy), ...facts.staffStops.map((each) => each.placedBy),
  ]));
  return Object.fromEntries([...ids].flatMap((id) => {
    const name = personName(practiceId, id);
    return id !== null && name !== null ? [[id, name] as const] : [];
  }));
}

/** Each sentence with its places still to be filled, but for the practice's name and number. */
function wordsFor(actor: Actor): Kept["words"] {
  const open = Object.fromEntries(["item", "date", "who", "n"].map((name) => [name, `{${name}}`]));
  return Object.fromEntries(KEPT_WORDS.map((word) => {
    const [area, ...key] = word.split(".");
    return [word, say(area as Area, actor.reader)(key.join("."), { ...open, practice: practiceToCall(actor) })]; // each begins with an area of the catalogue
  }));
}
