import type { Metadata } from "next";
import Link from "next/link";
import { Items, Sign } from "@/app/family/card";
import styles from "@/app/family/family.module.css";
import { FamilyFrame } from "@/app/family/frame";
import { SendSteps } from "@/app/family/send/send-steps";
import { SetupBlock } from "@/app/family/setup-block";
import { emergency, limbs, problemWords, sendWords } from "@/app/family/words";
import { ButtonLink } from "@/app/ui/button";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { SYMPTOM_KEYS, SYMPTOMS } from "@/lib/domain/symptoms/symptoms";
import { say } from "@/lib/messages/say";
import { exerciseKeys } from "@/lib/records/exercises";
import { childrenOf } from "@/lib/records/families";
import { maySend } from "@/lib/records/photo-sets";
import { lastAnswerAt } from "@/lib/records/sending";
import { standingOf } from "@/lib/records/standing";

const family = say("family");
const exercise = say("exercise");
export const metadata: Metadata = { title: family("choose.title") };

type Query = { readonly child?: string | string[]; readonly exercise?: string | string[] };

/** The child is chosen each time; then what may be done and the set-up; then the photos. */
export default async function Page({ searchParams }: { readonly searchParams: Promise<Query> }) {
  const actor = await signedIn();
  const { child, exercise: key } = await searchParams;
  const isChosen = typeof child === "string" && typeof key === "string" && exerciseKeys().includes(key);
  return <FamilyFrame current="send">{isChosen ? <Sending actor={actor} childId={child} exerciseKey={key} /> : <Choose actor={actor} />}</FamilyFrame>;
}

async function Choose({ actor }: { readonly actor: Actor }) {
  return (
    <>
      <Heading level={1} lead={family("choose.lead")}>{family("choose.title")}</Heading>
      <RuledList label={family("choose.lead")}>
        {(await childrenOf(actor)).flatMap(({ childId, givenName: name }) => exerciseKeys().map((key) => (
          <RuledRow key={`${childId} ${key}`}>
            <ButtonLink kind="quiet" href={`/family/send?child=${childId}&exercise=${key}`}>
              {family("choose.one", { child: name, exercise: exercise(`title.${key}`) })}
            </ButtonLink>
          </RuledRow>
        )))}
      </RuledList>
    </>
  );
}

async function Sending({ actor, childId, exerciseKey }: { readonly actor: Actor; readonly childId: string; readonly exerciseKey: string }) {
  const now = Date.now();
  const send = await grant(actor, "photo-set.send", childId);
  const standing = await standingOf(await grant(actor, "child.read", childId), exerciseKey, now);
  const { childName } = standing;
  const may = await maySend(send, exerciseKey, now);
  const tier = (name: "urgent" | "today") => SYMPTOM_KEYS.filter((each) => SYMPTOMS[each] === name)
    .map((each) => ({ key: each, label: family(`symptom.is.${each}`) }));
  return (
    <>
      <Heading level={1}>{family("choose.one", { child: childName, exercise: exercise(`title.${exerciseKey}`) })}</Heading>
      <p><Link href="/family/send" prefetch={false}>{family("choose.back")}</Link></p>
      <Sign standing={standing} actor={actor} />
      {may.ok ? (
        <>
          <SetupBlock setup={may.value.setup} child={childName} more={limbs(may.value.setup)} />
          <Items standing={standing} onlyOpen />
          <Heading level={2}>{family("send.guideTitle")}</Heading>
          <ul className={styles.list}>{["guide1", "guide2", "guide3"].map((each) => <li key={each}>{family(`send.${each}`)}</li>)}</ul>
          <noscript><Notice kind="caution">{family("send.noScript")}</Notice></noscript>
          <SendSteps childId={childId} exerciseKey={exerciseKey} setupId={may.value.setup.id} lieOn={may.value.setup.resolution.setup.lieOn}
            lastAnswerAt={await lastAnswerAt(send, exerciseKey)} words={sendWords(childName, may.value.setup)} problemWords={problemWords()}
            emergency={emergency(actor, now)} symptoms={{ urgent: tier("urgent"), today: tier("today") }} />
        </>
      ) : (
        <>
          <Notice kind="caution">{family(`closed.${may.problem.code}`, { child: childName })}</Notice>
          {may.problem.code === "consent-missing" ? <ButtonLink href={`/family/consent/${childId}`}>{family("closed.consent")}</ButtonLink> : null}
        </>
      )}
    </>
  );
}
