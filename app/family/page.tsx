import type { Metadata } from "next";
import { ExerciseCard } from "@/app/family/card";
import { FamilyFrame } from "@/app/family/frame";
import { StopFirst } from "@/app/family/stop-first";
import { EmptyState } from "@/app/ui/empty-state";
import { Heading } from "@/app/ui/heading";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { openItems } from "@/lib/domain/ledger/ledger";
import { say } from "@/lib/messages/say";
import { openFaultPicture } from "@/lib/records/answers-read";
import { childrenOf } from "@/lib/records/families";
import { isDoneToday } from "@/lib/records/practice-days";
import { openReadBacks } from "@/lib/records/read-backs";
import { standingsOf } from "@/lib/records/standing";

const family = say("family");
export const metadata: Metadata = { title: family("shell.today") };

/** "Before you start": stops first, then one card for each child and exercise. Reads without scripts. */
export default async function Page() {
  const actor = await signedIn();
  const now = Date.now();
  const each = await Promise.all((await childrenOf(actor)).map(async ({ childId }) => {
    const read = await grant(actor, "child.read", childId);
    const standings = await standingsOf(read, now);
    const cards = await Promise.all(standings.map(async (standing) => ({
      standing,
      picture: await openFaultPicture(read, standing.exerciseKey, openItems(standing.ledger).map((row) => row.itemKey)),
      isDone: await isDoneToday(read, standing.exerciseKey, now),
    })));
    return { childId, standings, cards, asked: await openReadBacks(await grant(actor, "read-back.answer", childId)) };
  }));
  return (
    <FamilyFrame current="today">
      {each.map(({ childId, standings, asked }) => <StopFirst key={childId} standings={standings} asked={asked} actor={actor} now={now} />)}
      <Heading level={1}>{family("shell.today")}</Heading>
      {each.length === 0 ? <EmptyState title={family("noChild")}><p>{family("noChildWhat")}</p></EmptyState> : null}
      {each.flatMap(({ childId, cards }) => cards.map((card) => (
        <ExerciseCard key={`${childId} ${card.standing.exerciseKey}`} {...card} actor={actor} />
      )))}
    </FamilyFrame>
  );
}
