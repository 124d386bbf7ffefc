import { spanWords } from "@/app/desk/queue-words";
import styles from "@/app/desk/times/times-table.module.css";
import { thinned, type SurvivalCurve } from "@/lib/domain/stats/kaplan-meier";
import { say } from "@/lib/messages/say";

/** Rows that somebody may read. */
const ROWS = 60;

/** The curve as a table, for who cannot see it. */
export function TimesTable({ curve }: { readonly curve: SurvivalCurve }) {
  const t = say("desk");
  const share = (part: number | null) => (part === null ? "" : t("times.share", { share: Math.round(part * 100) }));
  const steps = thinned(curve.steps, ROWS);
  return (
    <details>
      <summary>{t("times.asTable")}</summary>
      {steps.length < curve.steps.length ? <p>{t("times.thinned", { rows: steps.length })}</p> : null}
      <section className={styles.box} aria-label={t("times.curveTitle")} tabIndex={0}>
        <table>
          <thead>
            <tr>
              {["time", "atRisk", "answered", "shareLeft", "limitsColumn"].map((key) => <th key={key} scope="col">{t(`times.${key}`)}</th>)}
            </tr>
          </thead>
          <tbody>
            {steps.map((step) => (
              <tr key={step.time}>
                <th scope="row">{spanWords(step.time)}</th>
                <td>{step.atRisk}</td>
                <td>{step.events}</td>
                <td>{share(step.survival)}</td>
                <td>{step.lower === null ? "" : `${share(step.lower)} – ${share(step.upper)}`}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </section>
    </details>
  );
}
