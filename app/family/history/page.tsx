import type { Metadata } from "next";
import { FamilyFrame } from "@/app/family/frame";
import { Entry } from "@/app/family/history/entry";
import { EmptyState } from "@/app/ui/empty-state";
import { Heading } from "@/app/ui/heading";
import { LedgerChart } from "@/app/ui/ledger-chart";
import { Stack } from "@/app/ui/stack";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { VERDICTS, type Verdict } from "@/lib/domain/setup/vocabulary";
import { formatDate } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import { historyOf } from "@/lib/records/answers-read";
import { childrenOf } from "@/lib/records/families";
import { expectedAnswer, openingFor } from "@/lib/records/family-home";
import { standingsOf, type Standing } from "@/lib/records/standing";

const family = say("family");
const exercise = say("exercise");
export const metadata: Metadata = { title: family("history.title") };

/** Everything sent and answered, by child and exercise, newest first. */
export default async function Page() {
  const actor = await signedIn();
  const now = Date.now();
  const opening = openingFor(actor, now);
  const parts = await Promise.all((await childrenOf(actor)).map(async ({ childId }) => {
    const read = await grant(actor, "child.read", childId);
    return Promise.all((await standingsOf(read, now)).map(async (standing) => ({
      standing,
      entries: await Promise.all((await historyOf(read, standing.exerciseKey)).map(async (entry) => ({ entry, dueAt: await expectedAnswer(read, entry.sentAt) }))),
    })));
  }));
  return (
    <FamilyFrame current="history">
      <Heading level={1}>{family("history.title")}</Heading>
      {parts.flat().map(({ standing, entries }) => (
        <Stack key={`${standing.childId} ${standing.exerciseKey}`}>
          <Heading level={2}>{family("history.of", { child: standing.childName, exercise: exercise(`title.${standing.exerciseKey}`) })}</Heading>
          {entries.length === 0 ? <EmptyState title={family("history.none")} /> : null}
          {entries.map(({ entry, dueAt }) => (
            <Entry key={entry.photoSetId} entry={entry} childId={standing.childId} actor={actor} dueAt={dueAt} opening={opening} />
          ))}
          <Ledger standing={standing} zone={actor.timeZone} />
        </Stack>
      ))}
    </FamilyFrame>
  );
}

function Ledger({ standing, zone }: { readonly standing: Standing; readonly zone: string }) {
  const times = [...new Set(standing.ledger.flatMap((row) => row.entries.map((entry) => entry.at)))].sort((a, b) => a - b);
  if (times.length === 0) return null;
  // One cell for each word; built as pairs, so the cast only restores the key type.
  const verdictWords = Object.fromEntries(VERDICTS.map((verdict) => [verdict, family(`verdict.${verdict}`)])) as Record<Verdict, string>;
  return (
    <LedgerChart caption={family("history.ledger")} itemWord={family("history.item")} stateWord={family("history.itemState")}
      emptyWord={family("history.nothing")} verdictWords={verdictWords}
      columns={times.map((at) => ({ key: String(at), label: formatDate(at, zone) }))}
      rows={standing.ledger.map((row) => ({
        key: row.itemKey, label: exercise(`items.${row.itemKey}.title`), state: family(`itemState.${row.state}`),
        cells: times.map((at) => row.entries.find((entry) => entry.at === at)?.verdict ?? null),
      }))} />
  );
}
