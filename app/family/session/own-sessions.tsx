import styles from "@/app/family/family.module.css";
import { giveUpPlaceAction } from "@/app/family/session/actions";
import { WithLinks } from "@/app/family/session/with-links";
import { ActionForm } from "@/app/ui/action-form";
import { ButtonLink } from "@/app/ui/button";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { Said } from "@/app/ui/said";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { formatDate, formatDateTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import { childOf } from "@/lib/records/families";
import { ownSessions, type OwnAsk, type OwnSession } from "@/lib/records/session-home";

export type SessionsOfChild = { readonly childId: string; readonly child: string; readonly sessions: readonly OwnSession[] };

/** What is to be said of the group sessions of one child. */
export async function sessionsOfChild(actor: Actor, childId: string, now: number): Promise<SessionsOfChild> {
  const reading = await grant(actor, "child.read", childId);
  return { childId, child: (await childOf(reading)).givenName, sessions: await ownSessions(reading, now) };
}

const titleOf = ({ startsAt }: OwnSession, child: string, { reader, timeZone }: Actor): string =>
  say("joining", reader)("home.title", { child, when: formatDateTime(startsAt, timeZone, reader.locale) });

/** One line for each session above the go-aheads, which come first: what is asked stands below them. */
export function SessionLines({ of: { child, sessions }, actor }: { readonly of: SessionsOfChild; readonly actor: Actor }) {
  const t = say("joining", actor.reader);
  return sessions.map((session) => (
    <p key={session.placeId}>
      <a href={`#session-${session.placeId}`}>{titleOf(session, child, actor)}</a>
      {session.photo?.state === "owed" && !session.photo.heldBack ? <>. <strong>{photoSaid(session.photo, child, actor)}</strong></> : session.stage === "cancelled" ? <>. <strong>{t("home.cancelled")}</strong></> : null}
    </p>
  ));
}

/** One child's sessions in full: whether there is a place, how to join, and the photo asked for. */
export function OwnSessions({ of: { childId, child, sessions }, actor }: { readonly of: SessionsOfChild; readonly actor: Actor }) {
  return sessions.map((session) => <One key={session.placeId} session={session} actor={actor} childId={childId} child={child} />);
}

function One({ session, actor, childId, child }: { readonly session: OwnSession; readonly actor: Actor; readonly childId: string; readonly child: string }) {
  const { stage, decision, exercise, howToJoin, isMisfit, isOver, photo, placeId } = session;
  const t = say("joining", actor.reader);
  const isOn = stage !== "cancelled";
  return (
    <article id={`session-${placeId}`} className={styles.card}>
      <Heading level={2}>{titleOf(session, child, actor)}</Heading>
      {!isOn ? <Notice kind="caution">{t("home.cancelled")}</Notice> : isMisfit ? <Notice kind="caution">{t("home.misfit", { child })}</Notice>
        : decision !== "taken-in" ? <p>{t(decision === "declined" ? "place.declined" : "place.waiting", { child })}</p> : isOver ? null : <p>{t("home.takenIn", { child })}</p>}
      {exercise && isOn ? <p><Said words={t("exercise", { exercise: exercise.title })} part={exercise.title} lang={exercise.lang} /></p> : null}
      {howToJoin && isOn ? <p><strong>{t("home.howToJoin")}</strong>: <WithLinks text={howToJoin} /></p> : null}
      {photo ? <Photo photo={photo} actor={actor} childId={childId} child={child} /> : null}
      {stage === "upcoming" && decision !== "declined" ? (
        <ActionForm action={giveUpPlaceAction} once={crypto.randomUUID()} childId={childId}>
          <input type="hidden" name="placeId" value={placeId} />
          <SubmitButton kind="quiet" pending={t("home.working")}>{t(decision === "taken-in" ? "home.cannotCome" : "home.takeBack", { child })}</SubmitButton>
        </ActionForm>
      ) : null}
    </article>
  );
}

function Photo({ photo, actor, childId, child }: { readonly photo: OwnAsk; readonly actor: Actor; readonly childId: string; readonly child: string }) {
  const t = say("joining", actor.reader);
  if (photo.state === "sent") return <Notice kind="done">{t("home.sent")}</Notice>;
  return (
    <Stack gap="small">
      <p><strong>{photoSaid(photo, child, actor)}</strong></p>
      {photo.heldBack ? <Notice kind="caution">{t(`home.held.${photo.heldBack}`)}</Notice>
        : <div><ButtonLink href={`/family/send?child=${childId}&exercise=${photo.exerciseKey}`}>{t("home.send")}</ButtonLink></div>}
    </Stack>
  );
}

/** By when, as the last moment of the due day falls in the reader's own zone. */
const photoSaid = ({ dueAt, isLate }: OwnAsk, child: string, { reader, timeZone }: Actor): string =>
  say("joining", reader)(isLate ? "home.late" : "home.photo", { child, date: formatDate(dueAt - 1, timeZone, reader.locale) });
