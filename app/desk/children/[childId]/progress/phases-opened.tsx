import styles from "@/app/desk/times/times-table.module.css";
import { formatDate } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import type { PhaseOpening } from "@/lib/records/progress";

/** Which phases were opened, when and by whom, and which were closed again. */
export function PhasesOpened({ openings, zone }: { readonly openings: readonly PhaseOpening[]; readonly zone: string }) {
  const t = say("progress");
  if (openings.length === 0) return <p>{t("phasesNone")}</p>;
  return (
    <section className={styles.box} aria-label={t("phases")} tabIndex={0}>
      <table>
        <thead><tr>{["phase", "openedOn", "openedBy", "closedOn"].map((key) => <th key={key} scope="col">{t(key)}</th>)}</tr></thead>
        <tbody>
          {openings.map((each) => (
            <tr key={`${each.phase} ${each.openedAt}`}>
              <th scope="row">{say("exercise")(`phases.${each.phase}`)}</th>
              <td>{formatDate(each.openedAt, zone)}</td>
              <td>{each.openedBy}</td>
              <td>{each.closedAt === null ? t("stillOpen") : formatDate(each.closedAt, zone)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}
