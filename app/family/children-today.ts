import "server-only";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { openItems } from "@/lib/domain/ledger/ledger";
import { newestAnswered, newestClip, newestNote, openFaultPicture } from "@/lib/records/answers-read";
import { childrenOf } from "@/lib/records/families";
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
      picture: await openFaultPicture(read, standing.exerciseKey, openItems(standing.ledger).map((row) => row.itemKey), now),
      note: await newestNote(read, standing.exerciseKey, now),
      clip: await newestClip(read, standing.exerciseKey, now),
      answered: await newestAnswered(read, standing.exerciseKey, now),
      isDone: await isDoneToday(read, standing.exerciseKey, now),
    })));
    return { childId, standings, cards, asked: await openReadBacks(readBack, now), tries: await readBackTries(readBack) };
  }));
}
