import type { Metadata } from "next";
import { AgeNotices } from "@/app/family/age-notices";
import { AskedNotices } from "@/app/family/asked/asked-notices";
import { ExerciseCard } from "@/app/family/card";
import { childrenToday } from "@/app/family/children-today";
import { EraseNotices } from "@/app/family/erase-notices";
import { FamilyFrame } from "@/app/family/frame";
import { WaitingSets } from "@/app/family/queue/waiting-sets";
import { queueWords } from "@/app/family/queue/words";
import { KeepOnPhone } from "@/app/family/kept/keep-on-phone";
import { keepWords } from "@/app/family/kept/words";
import { OwnSessions, SessionLines, sessionsOfChild } from "@/app/family/session/own-sessions";
import { StopFirst } from "@/app/family/stop-first";
import { EmptyState } from "@/app/ui/empty-state";
import { PrintThis } from "@/app/ui/print-this";
import { ScreenOnly } from "@/app/ui/screen-only";
import { Heading } from "@/app/ui/heading";
import { readerNow, signedIn } from "@/lib/access/session";
import { say } from "@/lib/messages/say";

export const generateMetadata = async (): Promise<Metadata> => ({ title: say("family", await readerNow())("shell.today") });

/** "Before you start": stops first, then one card for each child and exercise. Reads without scripts. */
export default async function Page() {
  const actor = await signedIn();
  const family = say("family", actor.reader);
  const now = Date.now();
  const each = await childrenToday(actor, now);
  const sessions = await Promise.all(each.map(({ childId }) => sessionsOfChild(actor, childId, now)));
  return (
    <FamilyFrame current="today">
      {each.map(({ childId, standings, asked, isReadBack }) => <StopFirst key={childId} standings={standings} asked={asked} isReadBack={isReadBack} actor={actor} now={now} />)}
      <Heading level={1}>{family("shell.today")}</Heading>
      <ScreenOnly>
        <AgeNotices actor={actor} now={now} />
        <EraseNotices actor={actor} now={now} />
        <WaitingSets personId={actor.personId} words={queueWords(actor, now)} />
        {each.map(({ childId }) => <AskedNotices key={childId} childId={childId} actor={actor} now={now} />)}
        {sessions.map((of) => <SessionLines key={of.childId} of={of} actor={actor} />)}
      </ScreenOnly>
      {each.length === 0 ? <EmptyState title={family("noChild")}><p>{family("noChildWhat")}</p></EmptyState> : null}
      {each.flatMap(({ childId, cards }) => cards.map((card) => (
        <ExerciseCard key={`${childId} ${card.standing.exerciseKey}`} {...card} actor={actor} />
      )))}
      {sessions.some((of) => of.sessions.length > 0) ? <ScreenOnly>{sessions.map((of) => <OwnSessions key={of.childId} of={of} actor={actor} />)}</ScreenOnly> : null}
      {each.length > 0 ? <ScreenOnly><KeepOnPhone personId={actor.personId} writtenAt={now} words={keepWords(actor.reader)} /></ScreenOnly> : null}
      {each.some(({ cards }) => cards.length > 0) ? <PrintThis words={{ print: family("card.print"), hint: family("card.printHint") }} /> : null}
    </FamilyFrame>
  );
}
