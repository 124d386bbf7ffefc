import "server-only";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { openItems } from "@/lib/domain/ledger/ledger";
import { childrenOf } from "@/lib/records/families";
import { newestAnswer } from "@/lib/records/newest-answer";
import { isDoneToday } from "@/lib/records/practice-days";
import { openReadBacks, readBackTries } from "@/lib/records/read-backs";
import { standingsOf } from "@/lib/records/standing";

export type ChildToday = Awaited<ReturnType<typeof childrenToday>>[number];

/** All that "Before you start" rests on, for each child of this person: shown on the page, and kept on a phone. */
export async function childrenToday(actor: Actor, now: number) {
  return Promise.all((await childrenOf(actor)).map(async ({ childId }) => {
    const read = await grant(actor, "child.read", childId);
    const readBack = await grant(actor, "read-back.answer", childId);
    const standings = await standingsOf(read, now);
    const cards = await Promise.all(standings.map(async (standing) => ({
      standing,
      ...await newestAnswer(read, standing.exerciseKey, openItems(standing.ledger).map((row) => row.itemKey), now),
      isDone: await isDoneToday(read, standing.exerciseKey, now),
    })));
    return { childId, standings, cards, ...await openReadBacks(readBack, now), tries: await readBackTries(readBack) };
  }));
}
