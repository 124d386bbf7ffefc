import { spanWords } from "@/app/desk/queue-words";
import { Figure } from "@/app/ui/figure";
import { Heading } from "@/app/ui/heading";
import { Columns } from "@/app/ui/stack";
import type { SurvivalQuantile } from "@/lib/domain/stats/kaplan-meier";
import { formatDateTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import type { KindTimes } from "@/lib/records/kind-times";

/** Questions or symptom flags by their own promise; they stand in no figure of photo sets. */
export function KindPart({ kind, times, zone }: { readonly kind: "question" | "symptom"; readonly times: KindTimes; readonly zone: string }) {
  const t = say("times");
  const word = (key: string, values = {}) => t(`kinds.${kind}.${key}`, values);
  const { figures: { curve: { n, open }, median, ninetieth, within }, oldest } = times;
  const of = word("of", { n: times.waiting });
  const reached = (ms: number | null) => (ms === null ? t("notReached") : spanWords(ms));
  const limits = ({ lower, upper }: SurvivalQuantile) => t("kinds.limits", { lower: reached(lower), upper: reached(upper), n, open });
  const percent = (share: number) => t("share", { share: Math.round(share * 100) });
  return (
    <section>
      <Heading level={2} lead={word("lead")}>{word("title")}</Heading>
      <Columns>
        <Figure label={t("kinds.waiting")} value={times.waiting} note={of} />
        <Figure label={t("kinds.oldest")} value={oldest ? spanWords(oldest.workingMs) : t("kinds.none")}
          note={oldest ? `${word("since", { date: formatDateTime(oldest.since, zone) })}; ${of}` : of} />
        <Figure label={t("kinds.overdue")} value={times.overdue} note={of} />
        <Figure label={t("kinds.dueToday")} value={times.dueToday} note={of} />
      </Columns>
      {n === 0 ? null : (
        <Columns>
          <Figure label={word("median")} value={reached(median.estimate)} note={limits(median)} />
          <Figure label={word("ninetieth")} value={reached(ninetieth.estimate)} note={limits(ninetieth)} />
          <Figure label={t("promise")} value={within.interval ? percent(within.count / within.of) : t("kinds.none")}
            note={within.interval ? t("kinds.within", { count: within.count, of: within.of, lower: percent(within.interval.lower), upper: percent(within.interval.upper) }) : t("withinNone")} />
        </Columns>
      )}
    </section>
  );
}
