import type { Metadata } from "next";
import Link from "next/link";
import { Items, Sign } from "@/app/family/card";
import styles from "@/app/family/family.module.css";
import { FamilyFrame } from "@/app/family/frame";
import { WaitingSets } from "@/app/family/queue/waiting-sets";
import { queueWords } from "@/app/family/queue/words";
import { CameraGuide } from "@/app/family/send/camera-guide";
import { HandPart } from "@/app/family/send/hand-part";
import { SendStart } from "@/app/family/send/send-start";
import { SetupBlock } from "@/app/family/setup-block";
import { emergency, problemWords, sendWords } from "@/app/family/words";
import { ButtonLink } from "@/app/ui/button";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { readerNow, signedIn } from "@/lib/access/session";
import { isShared } from "@/lib/domain/installed/shared";
import { SYMPTOM_KEYS, SYMPTOMS } from "@/lib/domain/symptoms/symptoms";
import { say } from "@/lib/messages/say";
import { limbs } from "@/lib/messages/setup-words";
import { exercisesOf } from "@/lib/records/child-exercises";
import { mayFilm } from "@/lib/records/clips";
import { childrenOf } from "@/lib/records/families";
import { maySend } from "@/lib/records/photo-sets";
import { lastAnswerAt } from "@/lib/records/sending";
import { cardNumbersOf } from "@/lib/records/side-cards";
import { standingOf, standingsOf } from "@/lib/records/standing";
import { writesWithOf } from "@/lib/records/writes-with";

export const generateMetadata = async (): Promise<Metadata> => ({ title: say("family", await readerNow())("choose.title") });

type Query = { readonly child?: string | string[]; readonly exercise?: string | string[]; readonly shared?: string | string[] };

/** The child is chosen each time; then what may be done and the set-up; then the photos. */
export default async function Page({ searchParams }: { readonly searchParams: Promise<Query> }) {
  const actor = await signedIn();
  const { child, exercise: key, shared } = await searchParams;
  const isChosen = typeof child === "string" && typeof key === "string" && (await exercisesOf(await grant(actor, "child.read", child))).includes(key);
  return <FamilyFrame current="send">{isChosen ? <Sending actor={actor} childId={child} exerciseKey={key} /> : <Choose actor={actor} shared={isShared(shared) ? shared : null} />}</FamilyFrame>;
}

async function Choose({ actor, shared }: { readonly actor: Actor; readonly shared: "kept" | "some" | "none" | null }) {
  const family = say("family", actor.reader);
  const choices = await Promise.all((await childrenOf(actor)).map(async ({ childId, givenName }) => {
    const standings = await standingsOf(await grant(actor, "child.read", childId), Date.now());
    return standings.map(({ exerciseKey: key, names }) => ({ childId, key, child: givenName, exercise: names.title }));
  }));
  return (
    <>
      <Heading level={1} lead={family("choose.lead")}>{family("choose.title")}</Heading>
      {shared ? <Notice kind={shared === "kept" ? "info" : "caution"}>{say("installed", actor.reader)(`share.${shared}`)}</Notice> : null}
      <WaitingSets personId={actor.personId} words={queueWords(actor, Date.now())} />
      <RuledList label={family("choose.lead")}>
        {choices.flat().map(({ childId, key, child, exercise }) => (
          <RuledRow key={`${childId} ${key}`}>
            <ButtonLink kind="quiet" href={`/family/send?child=${childId}&exercise=${key}`}>{family("choose.one", { child, exercise })}</ButtonLink>
          </RuledRow>
        ))}
      </RuledList>
    </>
  );
}

async function Sending({ actor, childId, exerciseKey }: { readonly actor: Actor; readonly childId: string; readonly exerciseKey: string }) {
  const now = Date.now();
  const { reader } = actor;
  const [cards, family] = [say("cards", reader), say("family", reader)];
  const send = await grant(actor, "photo-set.send", childId);
  const read = await grant(actor, "child.read", childId);
  const [standing, hand] = [await standingOf(read, exerciseKey, now), await writesWithOf(read)];
  const { childName } = standing;
  const called = family("choose.one", { child: childName, exercise: standing.names.title });
  const may = await maySend(send, exerciseKey, now);
  const isAskedOther = !may.ok && may.problem.code === "consent-missing" && !(await childrenOf(actor)).some((child) => child.childId === childId && child.reach === "decide");
  const tier = (name: "urgent" | "today") => SYMPTOM_KEYS.filter((each) => SYMPTOMS[each] === name)
    .map((each) => ({ key: each, label: family(`symptom.is.${each}`) }));
  return (
    <>
      <Heading level={1}>{called}</Heading>
      <p><Link href="/family/send" prefetch={false}>{family("choose.back")}</Link></p>
      <Sign standing={standing} actor={actor} />
      {may.ok ? (
        <>
          <SetupBlock setup={may.value.setup} child={childName} more={limbs(may.value.setup, reader)} reader={reader} />
          {standing.names.cautions.map((caution) => <Notice key={caution} kind="caution">{caution}</Notice>)}
          <Items standing={standing} reader={reader} onlyOpen />
          <HandPart childId={childId} child={childName} exerciseKey={exerciseKey} said={hand} lieOn={may.value.setup.resolution.setup.lieOn} reader={reader} />
          <Heading level={2}>{family("send.guideTitle")}</Heading>
          <CameraGuide words={{ side: family("send.guideSide"), frame: family("send.guideFrame") }} />
          <ul className={styles.list}>{["guide1", "guide2", "guide3"].map((each) => <li key={each}>{family(`send.${each}`)}</li>)}<li>{cards("guide")}</li></ul>
          <p><Link href={`/family/card/${childId}`} prefetch={false}>{cards("toCardOf", { child: childName })}</Link></p>
          <noscript><Notice kind="caution">{family("send.noScript")}</Notice></noscript>
          <SendStart sending={{ personId: actor.personId, childId, exerciseKey, setupId: may.value.setup.id, called, cards: await cardNumbersOf(send), mayFilm: await mayFilm(send, now) }}
            lieOn={may.value.setup.resolution.setup.lieOn} lastAnswerAt={await lastAnswerAt(send, exerciseKey, now)}
            words={sendWords(childName, may.value.setup, hand.hand, reader)} queueWords={queueWords(actor, now)} problemWords={problemWords(reader)}
            emergency={emergency(actor, now)} symptoms={{ urgent: tier("urgent"), today: tier("today") }} />
        </>
      ) : (
        <>
          <Notice kind="caution">{isAskedOther ? say("care", reader)("askGuardian") : family(`closed.${may.problem.code}`, { child: childName })}</Notice>
          {may.problem.code === "consent-missing" && !isAskedOther ? <ButtonLink href={`/family/consent/${childId}`}>{family("closed.consent")}</ButtonLink> : null}
        </>
      )}
    </>
  );
}
