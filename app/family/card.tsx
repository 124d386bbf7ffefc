import { doneAction, notDoneAction } from "@/app/family/actions";
import styles from "@/app/family/family.module.css";
import { SetupBlock } from "@/app/family/setup-block";
import { notCovered, reasonSaid, shownSetup } from "@/app/family/words";
import { ActionForm } from "@/app/ui/action-form";
import { ButtonLink } from "@/app/ui/button";
import { GoAheadSign } from "@/app/ui/go-ahead-sign";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { PhotoFrame } from "@/app/ui/photo-frame";
import { Said } from "@/app/ui/said";
import { Row } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { VoicePlayer } from "@/app/ui/voice-player";
import type { Actor } from "@/lib/access/actor";
import { openItems } from "@/lib/domain/ledger/ledger";
import { decidingPhase } from "@/lib/domain/setup/today";
import { formatDate } from "@/lib/domain/time/format";
import type { Reader } from "@/lib/domain/words/reader";
import { playerWords } from "@/lib/messages/player-words";
import { say } from "@/lib/messages/say";
import { doing, limbs } from "@/lib/messages/setup-words";
import type { NewestAnswer } from "@/lib/records/newest-answer";
import type { Standing } from "@/lib/records/standing";

/** One child and one exercise: what may be done today, and all that is needed to do it. */
export function ExerciseCard({ standing, actor, picture, note, answered, isDone }: Omit<NewestAnswer, "clip"> & {
  readonly standing: Standing;
  readonly actor: Actor;
  readonly isDone: boolean;
}) {
  const { childName: child, childId, exerciseKey, names, overall } = standing;
  const { reader } = actor;
  const [family, questions] = [say("family", reader), say("questions", reader)];
  const setup = shownSetup(standing);
  const mayPractise = overall === "go" || overall === "go-and-fix";
  const taught = setup && mayPractise ? doing(setup, reader).filter(({ phase }) => standing.phases.some((each) => each.isOpen && each.phase === phase)) : [];
  const more = setup && overall !== "stop" ? [...limbs(setup, reader), ...taught.map(({ text }) => text)] : [];
  return (
    <article className={styles.card} aria-labelledby={`card-${childId}-${exerciseKey}`}>
      <Heading level={2} id={`card-${childId}-${exerciseKey}`}><Said words={family("card.of", { exercise: names.title, child })} part={names.title} lang={names.languageOf(names.title)} /></Heading>
      <Sign standing={standing} actor={actor} />
      {standing.photoConsent === "withdrawn" ? <Notice kind="info">{family("photosOff")}</Notice> : null}
      {standing.isNotCovered ? <Notice kind="caution">{notCovered(standing, actor)}</Notice> : null}
      {setup ? <SetupBlock setup={setup} child={child} more={more} reader={reader} /> : standing.isNotCovered ? null : <p>{family("notShown")}</p>}
      {setup ? names.cautions.map((caution) => <Notice key={caution} kind="caution"><Said words={caution} part={caution} lang={names.languageOf(caution)} /></Notice>) : null}
      {setup ? <Items standing={standing} reader={reader} /> : null}
      {setup && picture ? (
        <div className={styles.fault}>
          <PhotoFrame src={`/media/${childId}/${picture.photoId}/marked`} width={picture.width} height={picture.height}
            alt={family("card.notLikeThisAlt", { date: formatDate(picture.answeredAt, actor.timeZone, reader.locale) })}
            caption={<strong>{family("card.notLikeThis")}</strong>} />
        </div>
      ) : null}
      {/* Words said under an earlier set-up may name the side that is wrong now. */}
      {setup && note && note.answeredAt >= setup.confirmedAt ? (
        <VoicePlayer src={`/media/${childId}/voice/${note.voiceNoteId}`} words={playerWords(note.durationMs, reader, formatDate(note.answeredAt, actor.timeZone, reader.locale))}>
          <p>{note.summary}</p>
        </VoicePlayer>
      ) : null}
      <Row>
        <ButtonLink kind="stop" href="/family/symptom">{family("card.hurts")}</ButtonLink>
        {setup && standing.photoConsent !== "withdrawn" ? (
          <ButtonLink kind="quiet" href={`/family/send?child=${childId}&exercise=${exerciseKey}`}>{family("card.sendPhoto")}</ButtonLink>
        ) : null}
        {answered ? (
          <ButtonLink kind="quiet" href={`/family/ask/${childId}/${answered.photoSetId}`}>
            {answered.asked > 0 ? questions("thread", { n: answered.asked }) : questions("askNewest")}
          </ButtonLink>
        ) : null}
      </Row>
      {isDone ? (
        <>
          <Notice kind="done">{family("card.doneAlready")}</Notice>
          <ActionForm action={notDoneAction} once={crypto.randomUUID()} childId={childId}>
            <input type="hidden" name="exerciseKey" value={exerciseKey} />
            <SubmitButton kind="quiet" pending={family("card.doneSaving")}>{family("card.notDone")}</SubmitButton>
          </ActionForm>
        </>
      ) : null}
      {mayPractise && !isDone ? (
        <ActionForm action={doneAction} once={crypto.randomUUID()} childId={childId}>
          <input type="hidden" name="exerciseKey" value={exerciseKey} />
          <SubmitButton pending={family("card.doneSaving")}>{family("card.done")}</SubmitButton>
        </ActionForm>
      ) : null}
    </article>
  );
}

/** The strongest of the opened phases, with the reasons that make it so. */
export function Sign({ standing, actor }: { readonly standing: Standing; readonly actor: Actor }) {
  const family = say("family", actor.reader);
  const { overall } = standing;
  const [first, ...rest] = decidingPhase(standing).goAhead.reasons.map((reason) => reasonSaid(reason, standing.names, actor));
  return (
    <GoAheadSign state={overall} word={family(`state.${overall}`)}>
      {overall === "photo-first" ? <p><strong>{family("photoFirstHow")}</strong></p> : null}
      {first ? <p><Said words={first.text} part={first.item} lang={standing.names.languageOf(first.item)} /> <span className={styles.small}>{first.decided}</span></p> : null}
      {rest.length > 0 ? (
        <details>
          <summary>{family("card.reasons")}</summary>
          <ul className={styles.list}>{rest.map((each) => <li key={each.key}><Said words={each.text} part={each.item} lang={standing.names.languageOf(each.item)} /> <span className={styles.small}>{each.decided}</span></li>)}</ul>
        </details>
      ) : null}
    </GoAheadSign>
  );
}

/** What is open with its cue, at most three first; what is settled, folded. */
export function Items({ standing, reader, onlyOpen = false }: { readonly standing: Standing; readonly reader: Reader; readonly onlyOpen?: boolean }) {
  const family = say("family", reader);
  const { names } = standing;
  const said = (text: string) => <Said words={text} part={text} lang={names.languageOf(text)} />;
  const title = (itemKey: string) => said(names.itemTitle(itemKey));
  const open = openItems(standing.ledger);
  const settled = standing.ledger.filter((row) => row.state === "settled");
  const rows = (some: typeof open) => (
    <ul className={styles.list}>
      {some.map((row) => (
        <li key={row.itemKey}><strong>{title(row.itemKey)}</strong>. {row.newestCue ? said(row.newestCue.text) : family("card.noCue")}</li>
      ))}
    </ul>
  );
  return (
    <>
      {open.length > 0 ? <><Heading level={3}>{family("card.fix")}</Heading>{rows(open.slice(0, 3))}</> : null}
      {open.length > 3 ? <details><summary>{family("card.more")}</summary>{rows(open.slice(3))}</details> : null}
      {settled.length > 0 && !onlyOpen ? (
        <details>
          <summary>{family("card.settled")}</summary>
          <ul className={styles.list}>{settled.map((row) => <li key={row.itemKey}>{title(row.itemKey)}</li>)}</ul>
        </details>
      ) : null}
    </>
  );
}
