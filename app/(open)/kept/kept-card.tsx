"use client";

import type { ReactNode } from "react";
import styles from "@/app/family/family.module.css";
import { Button } from "@/app/ui/button";
import { ClipPlayer } from "@/app/ui/clip-player";
import { GoAheadSign } from "@/app/ui/go-ahead-sign";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { PhotoFrame } from "@/app/ui/photo-frame";
import { Said } from "@/app/ui/said";
import { SetupSchematic } from "@/app/ui/schematic/setup-schematic";
import { Stack } from "@/app/ui/stack";
import { VoicePlayer } from "@/app/ui/voice-player";
import type { LedgerRow } from "@/lib/domain/ledger/ledger";
import type { Kept, KeptClip } from "@/lib/domain/kept/kept";
import { foreignIn, reasonWorded, worded, type ExerciseView } from "@/lib/domain/kept/view";
import { decidingPhase } from "@/lib/domain/setup/today";

/** One child and one exercise as on the page with signal, without what needs the server. */
export function KeptCard({ view, kept, addresses, onHurts }: {
  readonly view: ExerciseView;
  readonly kept: Kept;
  /** Where in this page each picture and note is to be had. */
  readonly addresses: ReadonlyMap<string, string>;
  readonly onHurts: () => void;
}) {
  const { exercise: { title, facts, setup, sides, instead, picture, note, clip }, today: { overall, phases } } = view;
  const [shown, heard] = [addresses.get(picture?.address ?? ""), addresses.get(note?.address ?? "")];
  const mayPractise = overall === "go" || overall === "go-and-fix";
  const taught = setup && mayPractise ? setup.doing.filter(({ phase }) => phases.some((each) => each.isOpen && each.phase === phase)) : [];
  const more = setup && overall !== "stop" ? [...setup.limbs, ...taught.map(({ text }) => text)] : [];
  const summary = note ? <p>{note.summary}</p> : null;
  return (
    <article className={styles.card}>
      <Heading level={2}><In words={title} of={view} /></Heading>
      <Sign view={view} kept={kept} />
      {facts.photoConsent === "withdrawn" ? <Notice kind="info">{worded(kept, "family.photosOff")}</Notice> : null}
      {instead === null ? null : <Notice kind="caution">{instead}</Notice>}
      {setup && sides ? (
        <Stack gap="small">
          {setup.sideAndProp.map((line, at) => (at === 0 ? <p key={line} className={styles.side}>{line}</p> : <p key={line}><strong>{line}</strong></p>))}
          <SetupSchematic {...sides} label={setup.label} />
          {setup.individual === null ? null : <p>{setup.individual}</p>}
          {more.length > 0 ? <List rows={more} /> : null}
        </Stack>
      ) : null}
      {setup?.cautions.map((caution) => <Notice key={caution} kind="caution"><In words={caution} of={view} /></Notice>)}
      {setup ? <Items view={view} kept={kept} /> : null}
      {picture && shown ? (
        <div className={styles.fault}>
          <PhotoFrame src={shown} width={picture.width} height={picture.height} alt={picture.alt} caption={<strong>{worded(kept, "family.card.notLikeThis")}</strong>} />
        </div>
      ) : null}
      {note && heard ? (
        <VoicePlayer src={heard} words={{ title: note.title, speed: worded(kept, "voice.player.speed"), times: worded(kept, "voice.player.times"), same: worded(kept, "voice.player.same") }}>{summary}</VoicePlayer>
      ) : summary}
      <div><Button kind="stop" data-leads onClick={onHurts}>{worded(kept, "family.card.hurts")}</Button></div>
      {clip && overall !== "stop" ? <KeptClipPart clip={clip} src={addresses.get(clip.address ?? "")} kept={kept} /> : null}
    </article>
  );
}

/** The clip the newest answer is about, never under a stop, when nothing is to be done as it shows; where it is not kept, or has not come yet, that it opens with signal. */
function KeptClipPart({ clip: { title, about, instead, ...clip }, src, kept }: { readonly clip: KeptClip; readonly src: string | undefined; readonly kept: Kept }) {
  if (!src) return <p className={styles.small}>{instead}</p>;
  const words = Object.fromEntries(PLAYER.map((key) => [key, worded(kept, `clip.${key}`)])) as Record<(typeof PLAYER)[number], string>; // one entry a key
  return <Stack gap="small"><p>{about}</p><ClipPlayer clip={{ ...clip, src }} words={{ ...words, title }} /></Stack>;
}
const PLAYER = ["play", "pause", "speed", "times", "back", "on", "loopFrom", "loopTo", "loopAll", "keys"] as const;

/** A sentence, with the language of that part of it that has no translation. */
function In({ words, of: { exercise } }: { readonly words: string; readonly of: ExerciseView }) {
  const foreign = foreignIn(words, exercise);
  return <Said words={words} part={foreign?.part ?? ""} lang={foreign?.lang} />;
}

function Sign({ view, kept }: { readonly view: ExerciseView; readonly kept: Kept }) {
  const { exercise, today } = view;
  const reasons = decidingPhase(today).goAhead.reasons.map((reason) => {
    const { text, decided } = reasonWorded(reason, exercise, kept);
    return <span key={`${text} ${decided}`}><In words={text} of={view} /> <span className={styles.small}>{decided}</span></span>;
  });
  const [first, ...rest] = reasons;
  return (
    <GoAheadSign state={today.overall} word={worded(kept, `family.state.${today.overall}`)}>
      {today.overall === "photo-first" ? <p><strong>{worded(kept, "family.photoFirstHow")}</strong></p> : null}
      <p>{first}</p>
      {rest.length > 0 ? <details><summary>{worded(kept, "family.card.reasons")}</summary><List rows={rest} /></details> : null}
    </GoAheadSign>
  );
}

/** What is open with its cue, at most three first; what is settled, folded. */
function Items({ view, kept }: { readonly view: ExerciseView; readonly kept: Kept }) {
  const { exercise: { itemTitles }, open, settled } = view;
  const title = ({ itemKey }: LedgerRow) => <In words={itemTitles[itemKey] ?? ""} of={view} />;
  const cued = (row: LedgerRow) => <span key={row.itemKey}><strong>{title(row)}</strong>. <In words={row.newestCue?.text ?? worded(kept, "family.card.noCue")} of={view} /></span>;
  return (
    <>
      {open.length > 0 ? <><Heading level={3}>{worded(kept, "family.card.fix")}</Heading><List rows={open.slice(0, 3).map(cued)} /></> : null}
      {open.length > 3 ? <details><summary>{worded(kept, "family.card.more")}</summary><List rows={open.slice(3).map(cued)} /></details> : null}
      {settled.length > 0 ? <details><summary>{worded(kept, "family.card.settled")}</summary><List rows={settled.map(title)} /></details> : null}
    </>
  );
}

// Told anew as a whole, so a row's place is all that names it.
const List = ({ rows }: { readonly rows: readonly ReactNode[] }) => <ul className={styles.list}>{rows.map((row, at) => <li key={at}>{row}</li>)}</ul>;
