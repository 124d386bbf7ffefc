import Link from "next/link";
import type { Group } from "@/app/desk/times/groups";
import styles from "@/app/desk/times/times-table.module.css";
import { spanWords } from "@/app/desk/queue-words";
import { Heading } from "@/app/ui/heading";
import { Row } from "@/app/ui/stack";
import type { SurvivalQuantile } from "@/lib/domain/stats/kaplan-meier";
import type { Share } from "@/lib/domain/stats/wilson";
import { BY, type By } from "@/lib/records/figures-by";
import { say } from "@/lib/messages/say";

/** The same figures by week, exercise, pattern, colleague, first or later photo; every row with its n and what is open. */
export function GroupsPart({ by, groups }: { readonly by: By; readonly groups: readonly Group[] }) {
  const t = say("times");
  const percent = (share: number) => t("share", { share: Math.round(share * 100) });
  const reached = (ms: number | null) => (ms === null ? t("notReached") : spanWords(ms));
  const quantile = ({ estimate, lower, upper }: SurvivalQuantile) => t("between", { value: reached(estimate), lower: reached(lower), upper: reached(upper) });
  const within = ({ count, of, interval }: Share) => (interval ? t("within", { count, of, lower: percent(interval.lower), upper: percent(interval.upper) }) : t("withinNone"));
  return (
    <section aria-labelledby="by">
      <Heading level={2} id="by" lead={t("lead")}>{t("title")}</Heading>
      <Row>
        {BY.map((each) => <Link key={each} href={`/desk/times?by=${each}`} prefetch={false} aria-current={each === by ? "true" : undefined}>{t(`by.${each}`)}</Link>)}
        <a href="/desk/times/csv" download>{t("csv")}</a>
      </Row>
      <section className={styles.box} aria-label={t("title")} tabIndex={0}>
        <table>
          <thead>
            <tr>{[`by.${by}`, "n", "open", "median", "ninetieth", "promise"].map((key) => <th key={key} scope="col">{t(key)}</th>)}</tr>
          </thead>
          <tbody>
            {groups.map(({ key, word, figures, hasCurve }) => (
              <tr key={key}>
                <th scope="row">{word}</th>
                <td>{figures.n}</td>
                <td>{figures.open}</td>
                <td>{hasCurve ? quantile(figures.median) : t("noCurve")}</td>
                <td>{hasCurve ? quantile(figures.ninetieth) : t("noCurve")}</td>
                <td>{within(figures.within)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </section>
      {by === "colleague" ? <p>{t("noCurveWhy")}</p> : null}
    </section>
  );
}
