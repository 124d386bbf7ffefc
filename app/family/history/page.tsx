import type { Metadata } from "next";
import Link from "next/link";
import { Sign } from "@/app/family/card";
import { FamilyFrame } from "@/app/family/frame";
import { Entry } from "@/app/family/history/entry";
import { PracticeDays } from "@/app/practice-days";
import { EmptyState } from "@/app/ui/empty-state";
import { Heading } from "@/app/ui/heading";
import { LedgerChart } from "@/app/ui/ledger-chart";
import { Said } from "@/app/ui/said";
import { Stack } from "@/app/ui/stack";
import { grant } from "@/lib/access/grant";
import { readerNow, signedIn } from "@/lib/access/session";
import { judgedAt } from "@/lib/domain/ledger/ledger";
import { VERDICTS, type Verdict } from "@/lib/domain/setup/vocabulary";
import { formatDate } from "@/lib/domain/time/format";
import { localDate } from "@/lib/domain/time/local";
import { monthsBetween } from "@/lib/domain/time/month-grid";
import type { Reader } from "@/lib/domain/words/reader";
import { say } from "@/lib/messages/say";
import { markOpened } from "@/lib/records/answer-openings";
import { historyOf } from "@/lib/records/answers-read";
import { childrenOf } from "@/lib/records/families";
import { practiceClock } from "@/lib/records/family-home";
import { practiceDaysOf } from "@/lib/records/practice-days";
import { expiryOf } from "@/lib/records/retention";
import { standingsOf, type Standing } from "@/lib/records/standing";

export const generateMetadata = async (): Promise<Metadata> => ({ title: say("family", await readerNow())("history.title") });

/** Photo sets of one exercise, and dates of its items, that are shown at first, and how many more with each press; and months with the days of practice. */
const [AT_ONCE, MONTHS] = [20, 12];
/** More than anybody sends in a lifetime. */
const MOST = 5000;
type Query = Readonly<Partial<Record<"shown", string | string[]>>>;
const shownIn = (asked: Query["shown"]): number => Math.min(MOST, Math.max(AT_ONCE, Math.trunc(Number(asked)) || AT_ONCE));

/** Everything sent and answered, by child and exercise, newest first. */
export default async function Page({ searchParams }: { readonly searchParams: Promise<Query> }) {
  const shown = shownIn((await searchParams).shown);
  const actor = await signedIn();
  const { reader } = actor;
  const family = say("family", reader);
  const now = Date.now();
  const clock = practiceClock(actor, now);
  const parts = await Promise.all((await childrenOf(actor)).map(async ({ childId, reach }) => {
    const read = await grant(actor, "child.read", childId);
    const expiry = await expiryOf(read, now);
    return Promise.all((await standingsOf(read, now)).map(async (standing) => {
      const found = await historyOf(read, standing.exerciseKey, now, shown + 1);
      const entries = found.slice(0, shown);
      await markOpened(read, entries.flatMap(({ answer, voidReason }) => (answer && voidReason !== "wrong-child" ? [answer.answerId] : [])), now);
      const days = await practiceDaysOf(read, standing.exerciseKey);
      const months = (shown / AT_ONCE) * MONTHS;
      const isMore = found.length > shown || judgedAt(standing.ledger).length > shown || (days[0] !== undefined && monthsBetween(days[0], localDate(now, actor.timeZone)).length > months);
      return { standing, expiry, mayErase: reach === "decide", days, months, entries, isMore };
    }));
  }));
  return (
    <FamilyFrame current="history">
      <Heading level={1}>{family("history.title")}</Heading>
      {parts.flat().map(({ standing, days, months, entries, isMore, expiry, mayErase }) => (
        <Stack key={`${standing.childId} ${standing.exerciseKey}`}>
          <Heading level={2}><Said words={family("history.of", { child: standing.childName, exercise: standing.names.title })} part={standing.names.title} lang={standing.names.languageOf(standing.names.title)} /></Heading>
          {/* What an older answer said may not hold any more. */}
          <Sign standing={standing} actor={actor} />
          {entries.length === 0 ? <EmptyState title={family("history.none")} /> : null}
          {entries.map((entry) => <Entry key={entry.photoSetId} entry={entry} childId={standing.childId} mayErase={mayErase} expiresAt={expiry.setIds.get(entry.photoSetId) ?? null} actor={actor} clock={clock} now={now} />)}
          {isMore ? <p><Link href={`/family/history?shown=${shown + AT_ONCE}#set-${entries.at(-1)?.photoSetId ?? ""}`} prefetch={false}>{family("history.older")}</Link></p> : null}
          {entries.length > 0 ? <p>{say("erasing", reader)("kept", { months: expiry.months })}</p> : null}
          <Ledger standing={standing} shown={shown} zone={actor.timeZone} reader={reader} />
          <Heading level={3}>{say("days", reader)("title")}</Heading>
          <PracticeDays days={days} exercise={standing.names.title} zone={actor.timeZone} now={now} reader={reader} most={months} />
        </Stack>
      ))}
    </FamilyFrame>
  );
}

function Ledger({ standing, shown, zone, reader }: { readonly standing: Standing; readonly shown: number; readonly zone: string; readonly reader: Reader }) {
  const family = say("family", reader);
  const all = judgedAt(standing.ledger);
  const times = all.slice(-shown);
  if (times.length === 0) return null;
  // One cell for each word; built as pairs, so the cast only restores the key type.
  const verdictWords = Object.fromEntries(VERDICTS.map((verdict) => [verdict, family(`verdict.${verdict}`)])) as Record<Verdict, string>;
  return (
    <LedgerChart caption={all.length > shown ? family("history.ledgerNewest", { n: shown }) : family("history.ledger")} itemWord={family("history.item")} stateWord={family("history.itemState")}
      emptyWord={family("history.nothing")} verdictWords={verdictWords}
      columns={times.map((at) => ({ key: String(at), label: formatDate(at, zone, reader.locale) }))}
      rows={standing.ledger.map((row) => ({
        key: row.itemKey, label: standing.names.itemTitle(row.itemKey), state: family(`itemState.${row.state}`),
        cells: times.map((at) => row.entries.find((entry) => entry.at === at)?.verdict ?? null),
      }))} />
  );
}
