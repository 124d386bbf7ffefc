import { LedgerChart } from "@/app/ui/ledger-chart";
import { formatDate } from "@/lib/domain/time/format";
import { judgedAt } from "@/lib/domain/ledger/ledger";
import { VERDICTS } from "@/lib/domain/setup/vocabulary";
import { say } from "@/lib/messages/say";
import type { Standing } from "@/lib/records/standing";

/** Moments of judging in one table; every one of them stands on the child's own page of progress. */
const NEWEST = 24;

/** Items down, one column for each of the newest moments of judging. */
export function LedgerPart({ standing, zone }: { readonly standing: Standing; readonly zone: string }) {
  const t = say("desk");
  if (standing.ledger.length === 0) return <p>{t("families.child.noLedger")}</p>;
  const all = judgedAt(standing.ledger);
  const moments = all.slice(-NEWEST);
  const word = (verdict: (typeof VERDICTS)[number]) => t(`families.verdicts.${verdict}`);
  return (
    <LedgerChart
      caption={all.length > NEWEST ? t("families.child.ledgerNewest", { n: NEWEST, all: all.length }) : t("families.child.ledger")} itemWord={t("families.item")} stateWord={t("families.itemState")} emptyWord={t("families.noVerdict")}
      columns={moments.map((at) => ({ key: String(at), label: formatDate(at, zone) }))}
      rows={standing.ledger.map((row) => ({
        key: row.itemKey, label: standing.names.itemTitle(row.itemKey), state: t(`families.states.${row.state}`),
        cells: moments.map((at) => row.entries.findLast((entry) => entry.at === at)?.verdict ?? null),
      }))}
      verdictWords={{ "in-place": word("in-place"), fix: word("fix"), "not-visible": word("not-visible"), "not-part": word("not-part") }}
    />
  );
}
