import { doneAction } from "@/app/family/actions";
import styles from "@/app/family/family.module.css";
import { SetupBlock } from "@/app/family/setup-block";
import { doing, limbs, problemWords, reasonSaid, shownSetup } from "@/app/family/words";
import { ActionForm } from "@/app/ui/action-form";
import { ButtonLink } from "@/app/ui/button";
import { GoAheadSign } from "@/app/ui/go-ahead-sign";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { PhotoFrame } from "@/app/ui/photo-frame";
import { Row } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import type { Actor } from "@/lib/access/actor";
import { openItems } from "@/lib/domain/ledger/ledger";
import { formatDate } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import type { openFaultPicture } from "@/lib/records/answers-read";
import { personName, type Standing } from "@/lib/records/standing";

const family = say("family");
const exercise = say("exercise");

/** One child and one exercise: what may be done today, and all that is needed to do it. */
export function ExerciseCard({ standing, actor, picture, isDone }: {
  readonly standing: Standing;
  readonly actor: Actor;
  readonly picture: Awaited<ReturnType<typeof openFaultPicture>>;
  readonly isDone: boolean;
}) {
  const { childName: child, childId, exerciseKey, overall } = standing;
  const setup = shownSetup(standing);
  const mayPractise = overall === "go" || overall === "go-and-fix";
  const isOpen = (phase: string) => standing.phases.some((each) => each.isOpen && each.phase === phase);
  const more = setup && overall !== "stop" ? [...limbs(setup), ...(mayPractise ? doing(setup, isOpen) : [])] : [];
  return (
    <article className={styles.card}>
      <Heading level={2}>{family("card.of", { exercise: exercise(`title.${exerciseKey}`), child })}</Heading>
      <Sign standing={standing} actor={actor} />
      {standing.photoConsent === "withdrawn" ? <Notice kind="info">{family("photosOff")}</Notice> : null}
      {standing.isNotCovered ? (
        <Notice kind="caution">{exercise("coverage.family", {
          child, therapist: personName(actor.practiceId, standing.record?.recordedBy ?? null) ?? family("therapist"),
        })}</Notice>
      ) : null}
      {setup ? <SetupBlock setup={setup} child={child} more={more} /> : standing.isNotCovered ? null : <p>{family("notShown")}</p>}
      {setup ? <Items standing={standing} /> : null}
      {setup && picture ? (
        <div className={styles.fault}>
          <PhotoFrame src={`/media/${childId}/${picture.photoId}/marked`} width={picture.width} height={picture.height}
            alt={family("card.notLikeThisAlt", { date: formatDate(picture.answeredAt, actor.timeZone) })}
            caption={<strong>{family("card.notLikeThis")}</strong>} />
        </div>
      ) : null}
      <Row>
        <ButtonLink kind="stop" href="/family/symptom">{family("card.hurts")}</ButtonLink>
        {setup && standing.photoConsent !== "withdrawn" ? (
          <ButtonLink kind="quiet" href={`/family/send?child=${childId}&exercise=${exerciseKey}`}>{family("card.sendPhoto")}</ButtonLink>
        ) : null}
      </Row>
      {mayPractise && isDone ? <Notice kind="done">{family("card.doneAlready")}</Notice> : null}
      {mayPractise && !isDone ? (
        <ActionForm action={doneAction} once={crypto.randomUUID()} childId={childId} problemWords={problemWords()}>
          <input type="hidden" name="exerciseKey" value={exerciseKey} />
          <SubmitButton pending={family("card.doneSaving")}>{family("card.done")}</SubmitButton>
        </ActionForm>
      ) : null}
    </article>
  );
}

/** The strongest of the opened phases, with the reasons that make it so. */
export function Sign({ standing, actor }: { readonly standing: Standing; readonly actor: Actor }) {
  const { overall, phases, current } = standing;
  const deciding = phases.find((each) => each.isOpen && each.goAhead.state === overall) ?? current;
  const [first, ...rest] = deciding.goAhead.reasons.map((reason) => reasonSaid(reason, actor));
  return (
    <GoAheadSign state={overall} word={family(`state.${overall}`)}>
      {overall === "photo-first" ? <p><strong>{family("photoFirstHow")}</strong></p> : null}
      {first ? <p>{first.text} <span className={styles.small}>{first.decided}</span></p> : null}
      {rest.length > 0 ? (
        <details>
          <summary>{family("card.reasons")}</summary>
          <ul className={styles.list}>{rest.map((each) => <li key={each.key}>{each.text} <span className={styles.small}>{each.decided}</span></li>)}</ul>
        </details>
      ) : null}
    </GoAheadSign>
  );
}

/** What is open with its cue, at most three first; what is settled, folded. */
export function Items({ standing, onlyOpen = false }: { readonly standing: Standing; readonly onlyOpen?: boolean }) {
  const open = openItems(standing.ledger);
  const settled = standing.ledger.filter((row) => row.state === "settled");
  const rows = (some: typeof open) => (
    <ul className={styles.list}>
      {some.map((row) => (
        <li key={row.itemKey}><strong>{exercise(`items.${row.itemKey}.title`)}</strong>. {row.newestCue?.text ?? family("card.noCue")}</li>
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
          <ul className={styles.list}>{settled.map((row) => <li key={row.itemKey}>{exercise(`items.${row.itemKey}.title`)}</li>)}</ul>
        </details>
      ) : null}
    </>
  );
}
