import { patternWords } from "@/app/desk/families/words";
import { ButtonLink } from "@/app/ui/button";
import { DefinitionRows } from "@/app/ui/ruled";
import { Stack } from "@/app/ui/stack";
import { DUE_SOON_DAYS } from "@/lib/domain/caseload/reasons";
import { formatLocalDate } from "@/lib/domain/time/format";
import { daysBetween } from "@/lib/domain/time/local";
import type { LocalDate } from "@/lib/domain/time/working-week";
import { say } from "@/lib/messages/say";
import type { Standing } from "@/lib/records/standing";

/** How old the current curve record is, and when the next is due; days are the practice's own. */
export function RecordFacts({ childId, record, today }: { readonly childId: string; readonly record: Standing["record"]; readonly today: LocalDate }) {
  const t = say("progress");
  if (!record) {
    return <Stack><p>{t("recordNone")}</p><ButtonLink href={`/desk/children/${childId}/curve`}>{t("recordEnter")}</ButtonLink></Stack>;
  }
  const { assessedOn } = record.record;
  return (
    <DefinitionRows rows={[
      { term: t("pattern"), value: patternWords(record.record) },
      { term: t("assessed"), value: t("assessedOn", { date: formatLocalDate(assessedOn), days: daysBetween(assessedOn, today) }) },
      { term: t("reassess"), value: dueWords(record.reassessBy, today) },
    ]} />
  );
}

/** The reassessment day itself still counts. */
export function dueWords(reassessBy: LocalDate | null, today: LocalDate): string {
  const t = say("progress");
  if (reassessBy === null) return t("due.none");
  const days = daysBetween(today, reassessBy);
  const when = days < 0 ? "over" : days === 0 ? "today" : days <= DUE_SOON_DAYS ? "soon" : "later";
  return t(`due.${when}`, { date: formatLocalDate(reassessBy), days: Math.abs(days) });
}
