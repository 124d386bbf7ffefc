import Link from "next/link";
import { AlarmsNotice } from "@/app/desk/alarms/alarms-notice";
import { NextKey } from "@/app/desk/next-key";
import { rowAddress } from "@/app/desk/next-one";
import { Pages, pageIn } from "@/app/desk/pages";
import { UnreadStops } from "@/app/desk/unread-stops";
import { spanWords } from "@/app/desk/queue-words";
import { RemindFamily } from "@/app/desk/remind-family";
import { RestoredNotice } from "@/app/desk/restored-notice";
import { RequestsLine } from "@/app/desk/sessions/requests-line";
import { WaitingRow } from "@/app/desk/waiting-row";
import styles from "@/app/desk/queue.module.css";
import { SentBar } from "@/app/desk/sent-bar";
import { ButtonLink } from "@/app/ui/button";
import { EmptyState } from "@/app/ui/empty-state";
import { Figure } from "@/app/ui/figure";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { PhoneLink } from "@/app/ui/phone-link";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import { Row, Stack } from "@/app/ui/stack";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { formatDateTime, formatTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import { hasFamilies } from "@/lib/records/families";
import { practiceOf } from "@/lib/records/practice";
import { QUEUE_FILTERS, queueOf, type QueueFilter, type SymptomRow } from "@/lib/records/queue";
import { pendingAnswers } from "@/lib/records/take-back";
import { unreadStops } from "@/lib/records/unread-stops";

type Query = Readonly<Partial<Record<"show" | "page", string | string[]>>>;

const FILTER_WORDS = { all: "queue.filterAll", overdue: "queue.filterOverdue", symptom: "queue.filterSymptom", mine: "queue.filterMine" } as const;

/** What waits for an answer: danger first, then what is due. */
export default async function QueuePage({ searchParams }: { readonly searchParams: Promise<Query> }) {
  const t = say("desk");
  const actor = await signedIn();
  const now = Date.now();
  const { show, page: asked } = await searchParams;
  const filter = QUEUE_FILTERS.find((each) => each === show) ?? "all";
  const queue = await queueOf(await grant(actor, "queue.read", null), now, { show: filter, page: pageIn(asked) });
  const unread = await unreadStops(await grant(actor, "queue.read", null), now);
  const pending = await pendingAnswers(await grant(actor, "queue.read", null), now);
  const { timeZone: zone } = await practiceOf(await grant(actor, "practice.read", null), now);
  const { rows, counts, page, pages } = queue;
  const [first] = rows;
  const isNew = rows.length === 0 && !(await hasFamilies(await grant(actor, "queue.read", null)));
  const of = t("queue.of", { n: counts.all });
  return (
    <Stack gap="large">
      <SentBar actor={actor} now={now} />
      <Heading level={1} lead={t("queue.lead")}>{t("queue.title")}</Heading>
      <AlarmsNotice actor={actor} />
      <RestoredNotice actor={actor} zone={zone} now={now} />
      {queue.symptoms.length > 0 ? (
        <section>
          <Stack>
            <Heading level={2}>{t("queue.symptoms")}</Heading>
            {queue.symptoms.map((row) => <Symptom key={row.childId} row={row} zone={zone} />)}
          </Stack>
        </section>
      ) : null}
      {unread.length > 0 ? (
        <section>
          <Heading level={2} lead={say("stops")("lead")}>{say("stops")("title")}</Heading>
          <RuledList label={say("stops")("title")}>
            {unread.map((row) => (
              <RuledRow key={row.childId}>
                <Stack gap="small">
                  <p><Link href={`/desk/children/${row.childId}`} prefetch={false}><strong>{row.childName}</strong></Link></p>
                  <UnreadStops row={row} from="queue" />
                </Stack>
              </RuledRow>
            ))}
          </RuledList>
        </section>
      ) : null}
      <div className={styles.figures}>
        <Figure label={t("queue.waiting")} value={counts.all} note={queue.oldestSentAt === null ? t("queue.none") : `${t("queue.oldest")}: ${t("queue.since", { when: formatDateTime(queue.oldestSentAt, zone) })}`} />
        <Figure label={t("queue.overdue")} value={queue.overdue} note={of} />
        <Figure label={t("queue.dueToday")} value={queue.dueToday} note={of} />
      </div>
      <Row>
        {QUEUE_FILTERS.map((each) => (
          <Link key={each} href={addressOf(each, 1)} prefetch={false} className={styles.filter} aria-current={each === filter ? "true" : undefined}>
            {t(FILTER_WORDS[each])} ({counts[each]})
          </Link>
        ))}
        {first ? (
          <>
            <ButtonLink href={rowAddress(first)}>{t("queue.next")}</ButtonLink>
            <NextKey href={rowAddress(first)} />
            <span>{t("queue.nextKey")}</span>
          </>
        ) : null}
      </Row>
      {isNew ? (
        <EmptyState title={t("queue.new")}>
          <p>{t("queue.newWhat")}</p>
          <Row>
            <ButtonLink href="/desk/practice">{t("queue.newHours")}</ButtonLink>
            <ButtonLink kind="quiet" href="/desk/families">{t("queue.newFamily")}</ButtonLink>
          </Row>
        </EmptyState>
      ) : rows.length === 0 ? (
        <EmptyState title={t("queue.empty")}><p>{filter === "all" ? t(queue.onFamily.length > 0 ? "queue.emptyButFamily" : "queue.emptyWhat") : t("queue.emptyFilter")}</p></EmptyState>
      ) : (
        <RuledList label={t("queue.list")}>{rows.map((row) => <RuledRow key={row.id}><WaitingRow row={row} zone={zone} /></RuledRow>)}</RuledList>
      )}
      <Pages page={page} pages={pages} addressOf={(at) => addressOf(filter, at)} />
      {queue.onFamily.length > 0 ? (
        <section>
          <Heading level={2} lead={t("queue.onFamilyLead")}>{t("queue.onFamily", { n: queue.onFamilyCount })}</Heading>
          <RuledList label={t("queue.onFamily", { n: queue.onFamilyCount })}>{queue.onFamily.map((row) => <RuledRow key={row.id}><WaitingRow row={row} zone={zone} /><RemindFamily row={row} /></RuledRow>)}</RuledList>
        </section>
      ) : null}
      <RequestsLine actor={actor} />
      {pending.length > 0 ? (
        <section>
          <Heading level={2}>{say("drafts")("justAnswered")}</Heading>
          <RuledList>
            {pending.map((answer) => (
              <RuledRow key={answer.answerId}>
                <Link href={`/desk/children/${answer.childId}/sets/${answer.photoSetId}`} prefetch={false}>
                  {say("drafts")(answer.isMine ? "justAnsweredMine" : "justAnsweredRow", { child: answer.childName, who: answer.answeredBy, when: formatTime(answer.publishedAt, zone) })}
                </Link>
              </RuledRow>
            ))}
          </RuledList>
        </section>
      ) : null}
    </Stack>
  );
}

/** The address of a choice, with no more in it than was chosen. */
function addressOf(show: QueueFilter, page: number): string {
  const said = new URLSearchParams({ ...(show === "all" ? {} : { show }), ...(page === 1 ? {} : { page: String(page) }) }).toString();
  return said === "" ? "/desk" : `/desk?${said}`;
}

function Symptom({ row, zone }: { readonly row: SymptomRow; readonly zone: string }) {
  const t = say("desk");
  const isUrgent = row.reports.some((report) => report.tier === "urgent");
  return (
    <Notice kind="stop" title={t(isUrgent ? "queue.symptomUrgent" : "queue.symptomToday", { child: row.childName })}>
      {row.carers.map((carer) => (
        <p key={carer.personId}>
          {t("queue.call")} <strong>{carer.name}</strong>: {carer.phone ? <PhoneLink number={carer.phone} /> : t("queue.noPhone")}
        </p>
      ))}
      {row.reports.map((report) => (
        <div key={report.reportId}>
          <p>{t("queue.symptomWhen", { when: formatDateTime(report.reportedAt, zone), who: report.reportedBy })}</p>
          {report.writtenAt === null ? null : <p>{t("queue.symptomWritten", { when: formatDateTime(report.writtenAt, zone) })}</p>}
          <p>{report.symptoms.map((symptom) => say("family")(`symptom.is.${symptom}`)).join(". ")}{report.note ? `. “${report.note}”` : ""}</p>
        </div>
      ))}
      {row.dueAt === null ? null : <p>{t(row.isOverdue ? "queue.symptomLate" : "queue.symptomDue", { time: spanWords(row.leftMs), when: formatDateTime(row.dueAt, zone) })}</p>}
      <p><Link href={`/desk/children/${row.childId}/clearance`} prefetch={false}>{t("queue.clear")}</Link></p>
    </Notice>
  );
}
