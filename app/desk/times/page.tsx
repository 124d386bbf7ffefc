import { spanWords } from "@/app/desk/queue-words";
import { namedGroups } from "@/app/desk/times/groups";
import { GroupsPart } from "@/app/desk/times/groups-part";
import { KindPart } from "@/app/desk/times/kind-part";
import { TimesTable } from "@/app/desk/times/times-table";
import { EmptyState } from "@/app/ui/empty-state";
import { Figure } from "@/app/ui/figure";
import { Heading } from "@/app/ui/heading";
import { Columns, Stack } from "@/app/ui/stack";
import { SurvivalCurve } from "@/app/ui/survival-curve";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { thinned, type SurvivalQuantile } from "@/lib/domain/stats/kaplan-meier";
import { formatDateTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import { answerTimes } from "@/lib/records/answer-times";
import { BY } from "@/lib/records/figures-by";
import { practiceOf } from "@/lib/records/practice";

const HOUR_MS = 3_600_000;
/** Steps that a drawing of this size can show apart. */
const DRAWN = 400;
const percent = (share: number): number => Math.round(share * 100);

/** How long families wait, with those still waiting counted as waiting. */
export default async function TimesPage({ searchParams }: { readonly searchParams: Promise<{ readonly by?: string | string[] }> }) {
  const t = say("desk");
  const actor = await signedIn();
  const now = Date.now();
  const query = await searchParams;
  const by = BY.find((each) => each === query.by) ?? "week";
  const times = await answerTimes(await grant(actor, "times.read", null), by, now);
  const { timeZone } = await practiceOf(await grant(actor, "practice.read", null), now);
  const { curve, within } = times;
  const { n, open } = curve;
  const quantile = ({ estimate }: SurvivalQuantile) => (estimate === null ? t("times.notReached") : spanWords(estimate));
  const limits = ({ lower, upper }: SurvivalQuantile) => t("times.limits", {
    lower: lower === null ? t("times.notReached") : spanWords(lower), upper: upper === null ? t("times.notReached") : spanWords(upper), n, open,
  });
  const ofWaiting = t("times.ofWaiting", { n: times.waiting });
  const maxTime = Math.max(HOUR_MS, curve.steps.at(-1)?.time ?? 0);
  const ticks = [0, 0.25, 0.5, 0.75, 1].map((part) => {
    const at = part * maxTime;
    return { at, label: spanWords(at), waiting: curve.steps.find((step) => step.time >= at)?.atRisk ?? 0 };
  });
  return (
    <Stack gap="large">
      <Heading level={1} lead={t("times.lead")}>{t("times.title")}</Heading>
      <Columns>
        <Figure label={t("times.waiting")} value={times.waiting} note={times.onFamily > 0 ? `${ofWaiting}; ${t("times.onFamily", { n: times.onFamily })}` : ofWaiting} />
        <Figure label={t("times.oldest")}
          value={times.oldest ? spanWords(times.oldest.workingMs) : t("times.none")}
          note={times.oldest ? `${t("times.sent", { date: formatDateTime(times.oldest.sentAt, timeZone) })}; ${ofWaiting}` : ofWaiting} />
        <Figure label={t("times.overdue")} value={times.overdue} note={ofWaiting} />
        <Figure label={t("times.dueToday")} value={times.dueToday} note={ofWaiting} />
      </Columns>
      {n === 0 ? <EmptyState title={t("times.empty")}><p>{t("times.emptyWhat")}</p></EmptyState> : (
        <>
          <Columns>
            <Figure label={t("times.median")} value={quantile(times.median)} note={limits(times.median)} />
            <Figure label={t("times.ninetieth")} value={quantile(times.ninetieth)} note={limits(times.ninetieth)} />
            <Figure label={t("times.within")}
              value={within.interval ? t("times.share", { share: percent(within.count / within.of) }) : t("times.none")}
              note={within.interval ? t("times.withinNote", {
                count: within.count, of: within.of,
                lower: t("times.share", { share: percent(within.interval.lower) }), upper: t("times.share", { share: percent(within.interval.upper) }),
              }) : t("times.withinNone")} />
          </Columns>
          <SurvivalCurve
            title={t("times.curveTitle")}
            description={t("times.curveDesc", { n, open, median: quantile(times.median), ninetieth: quantile(times.ninetieth) })}
            steps={thinned(curve.steps, DRAWN)} maxTime={maxTime} ticks={ticks} waitingWord={t("times.waitingWord")} shareWord={t("times.shareWord")} />
          <p>{t("times.curveDesc", { n, open, median: quantile(times.median), ninetieth: quantile(times.ninetieth) })}</p>
          <TimesTable curve={curve} />
          <GroupsPart by={by} groups={namedGroups(by, times.groups, times.patterns, actor)} />
        </>
      )}
      {(["symptom", "question"] as const).map((kind) => <KindPart key={kind} kind={kind} times={times.kinds[kind]} zone={timeZone} />)}
    </Stack>
  );
}
