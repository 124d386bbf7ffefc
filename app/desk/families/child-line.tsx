import Link from "next/link";
import { GoAheadSign } from "@/app/ui/go-ahead-sign";
import { Notice } from "@/app/ui/notice";
import { DefinitionRows } from "@/app/ui/ruled";
import { Stack } from "@/app/ui/stack";
import { patternWords } from "@/app/desk/families/words";
import { formatDate, formatLocalDate } from "@/lib/domain/time/format";
import { localDate } from "@/lib/domain/time/local";
import { say } from "@/lib/messages/say";
import type { Sent } from "@/lib/records/families";
import type { StandingLine } from "@/lib/records/standing";

/** One child on a list: what may be done now, for which back, and what waits. */
export function ChildLine({ standing, sent, zone, now }: {
  readonly standing: StandingLine;
  readonly sent: Sent | undefined;
  readonly zone: string;
  readonly now: number;
}) {
  const t = say("desk");
  const { record, setup } = standing;
  return (
    <Stack gap="small">
      <Link href={`/desk/children/${standing.childId}`} prefetch={false}><strong>{standing.childName}</strong></Link>
      <p>{standing.names.title}</p>
      <GoAheadSign state={standing.overall} word={t(`families.state.${standing.overall}`)} size="compact" />
      {setup?.kind === "individual" ? <Notice kind="info">{t("families.individual")}</Notice> : null}
      <DefinitionRows rows={[
        { term: t("families.pattern"), value: record ? patternWords(record.record) : t("families.noRecord") },
        { term: t("families.reassess"), value: reassessWords(record?.reassessBy ?? null, localDate(now, zone)) },
        { term: t("families.lastSent"), value: sent?.lastSentAt ? formatDate(sent.lastSentAt, zone) : t("families.neverSent") },
        { term: t("families.waiting"), value: t("families.waitingCount", { n: sent?.waiting ?? 0 }) },
      ]} />
    </Stack>
  );
}

/** The reassessment day itself still counts. Dates are `YYYY-MM-DD`. */
export function reassessWords(reassessBy: string | null, today: string): string {
  const t = say("desk");
  if (reassessBy === null) return t("families.reassessNone");
  const date = formatLocalDate(reassessBy);
  return reassessBy < today ? t("families.reassessPast", { date }) : date;
}
