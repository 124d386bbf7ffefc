import styles from "@/app/desk/times/times-table.module.css";
import type { SurvivalCurve } from "@/lib/domain/stats/kaplan-meier";
import { say } from "@/lib/messages/say";

const MINUTE_MS = 60_000;

/** Working time in ms as hours and minutes. */
export function spanWords(ms: number): string {
  const minutes = Math.round(ms / MINUTE_MS);
  return say("desk")("times.span", { hours: Math.floor(minutes / 60), minutes: minutes % 60 });
}

/** The curve as a table, for who cannot see it. */
export function TimesTable({ curve }: { readonly curve: SurvivalCurve }) {
  const t = say("desk");
  const share = (part: number | null) => (part === null ? "" : t("times.share", { share: Math.round(part * 100) }));
  return (
    <details>
      <summary>{t("times.asTable")}</summary>
      <section className={styles.box} aria-label={t("times.curveTitle")} tabIndex={0}>
        <table>
          <thead>
            <tr>
              {["time", "atRisk", "answered", "shareLeft", "limitsColumn"].map((key) => <th key={key} scope="col">{t(`times.${key}`)}</th>)}
            </tr>
          </thead>
          <tbody>
            {curve.steps.map((step) => (
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
