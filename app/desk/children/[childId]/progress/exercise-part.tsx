import Link from "next/link";
import { ItemGroups } from "@/app/desk/children/[childId]/progress/item-groups";
import { PhasesOpened } from "@/app/desk/children/[childId]/progress/phases-opened";
import { PracticeDays } from "@/app/practice-days";
import { EmptyState } from "@/app/ui/empty-state";
import { GoAheadSign } from "@/app/ui/go-ahead-sign";
import { Heading } from "@/app/ui/heading";
import { LedgerChart } from "@/app/ui/ledger-chart";
import { Stack } from "@/app/ui/stack";
import { formatDate } from "@/lib/domain/time/format";
import { DESK } from "@/lib/domain/words/reader";
import { say } from "@/lib/messages/say";
import type { ExerciseProgress, Look } from "@/lib/records/progress";

/** As many columns as a laptop and a sheet of paper hold. */
const NEWEST = 8;

/** One exercise: its items by state, every verdict, the phases and the days. */
export function ExercisePart({ progress, days, zone, now, showsAll }: {
  readonly progress: ExerciseProgress;
  readonly days: readonly string[];
  readonly zone: string;
  readonly now: number;
  readonly showsAll: boolean;
}) {
  const t = say("progress");
  const { standing, looks, rows, openings } = progress;
  return (
    <section aria-label={standing.names.title}>
      <Stack gap="large">
        <Heading level={2}>{standing.names.title}</Heading>
        <GoAheadSign state={standing.overall} word={say("desk")(`families.state.${standing.overall}`)} size="compact" />
        {looks.length === 0 ? <EmptyState title={t("empty")}><p>{t(standing.setup ? "emptyWhat" : "emptyNoSetup")}</p></EmptyState> : (
          <>
            <ItemGroups rows={rows} titleOf={standing.names.itemTitle} zone={zone} />
            <Verdicts progress={progress} zone={zone} showsAll={showsAll} />
          </>
        )}
        <section>
          <Heading level={3}>{t("phases")}</Heading>
          <PhasesOpened openings={openings} zone={zone} />
        </section>
        <section>
          <Heading level={3}>{t("days")}</Heading>
          <PracticeDays days={days} exercise={standing.names.title} zone={zone} now={now} reader={DESK} />
        </section>
      </Stack>
    </section>
  );
}

function Verdicts({ progress: { standing, looks, rows }, zone, showsAll }: { readonly progress: ExerciseProgress; readonly zone: string; readonly showsAll: boolean }) {
  const t = say("progress");
  const from = showsAll ? 0 : Math.max(0, looks.length - NEWEST);
  const word = (verdict: string) => say("desk")(`families.verdicts.${verdict}`);
  return (
    <Stack gap="small">
      <p>{t("tableLead")} {looks.length > NEWEST ? <Which standing={standing} all={looks.length} showsAll={showsAll} /> : null}</p>
      <LedgerChart
        caption={t("table", { exercise: standing.names.title })} itemWord={t("item")} stateWord={t("state")} emptyWord={t("noVerdict")} pastWord={t("past")}
        columns={looks.slice(from).map((look) => ({ key: look.id, label: lookLabel(look, zone), href: look.kind === "photo-set" ? `/desk/children/${standing.childId}/sets/${look.id}` : undefined }))}
        rows={rows.map((row) => ({
          key: row.itemKey, label: standing.names.itemTitle(row.itemKey), state: t(`stateIs.${row.state}`),
          cells: row.cells.slice(from).map((cell) => cell?.verdict ?? null),
          // "Not visible" never says anything about now, and needs no brackets to say so.
          past: row.cells.slice(from).map((cell) => cell !== null && !cell.counts && cell.verdict !== "not-visible"),
        }))}
        verdictWords={{ "in-place": word("in-place"), fix: word("fix"), "not-visible": word("not-visible"), "not-part": word("not-part") }}
      />
    </Stack>
  );
}

function Which({ standing: { childId, exerciseKey }, all, showsAll }: { readonly standing: ExerciseProgress["standing"]; readonly all: number; readonly showsAll: boolean }) {
  const t = say("progress");
  const base = `/desk/children/${childId}/progress`;
  return showsAll ? <Link href={base} prefetch={false}>{t("showNewest", { shown: NEWEST })}</Link> : (
    <>{t("newest", { shown: NEWEST, all })} <Link href={`${base}?${new URLSearchParams({ all: exerciseKey }).toString()}`} prefetch={false}>{t("showAll", { all })}</Link></>
  );
}

const lookLabel = ({ kind, at }: Look, zone: string): string =>
  kind === "photo-set" ? formatDate(at, zone) : say("progress")(`seenLive.${kind}`, { date: formatDate(at, zone) });
