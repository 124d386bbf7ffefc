import { reassessWords } from "@/app/desk/families/child-line";
import { drawnCurves, patternWords, spineLabel } from "@/app/desk/families/words";
import { ButtonLink } from "@/app/ui/button";
import { DefinitionRows } from "@/app/ui/ruled";
import { SpineSchematic } from "@/app/ui/schematic/spine-schematic";
import { Columns, Stack } from "@/app/ui/stack";
import { REGIONS } from "@/lib/domain/curve/region";
import { formatDate, formatLocalDate } from "@/lib/domain/time/format";
import { localDate } from "@/lib/domain/time/local";
import { say } from "@/lib/messages/say";
import type { CurveRecordView } from "@/lib/records/curve-records";

/** The current curve record in words and drawn, and the older ones to reread. */
export function RecordPart({ childId, records, zone, now }: {
  readonly childId: string;
  readonly records: readonly CurveRecordView[];
  readonly zone: string;
  readonly now: number;
}) {
  const t = say("desk");
  const [current, ...older] = records;
  const enter = <ButtonLink href={`/desk/children/${childId}/curve`} kind={current ? "quiet" : "primary"}>{t("families.child.recordEnter")}</ButtonLink>;
  if (!current) return <Stack><p>{t("families.noRecord")}</p>{enter}</Stack>;
  return (
    <Stack>
      <Columns>
        <OneRecord view={current} zone={zone} today={localDate(now, zone)} />
        <SpineSchematic curves={drawnCurves(current.record)} label={spineLabel(patternWords(current.record))} />
      </Columns>
      {older.length > 0 ? (
        <details>
          <summary>{t("families.child.older")}</summary>
          {older.map((view) => <OneRecord key={view.id} view={view} zone={zone} today={localDate(now, zone)} />)}
        </details>
      ) : null}
      {enter}
    </Stack>
  );
}

function OneRecord({ view: { record, note, recordedAt, recordedBy }, zone, today }: { readonly view: CurveRecordView; readonly zone: string; readonly today: string }) {
  const t = say("desk");
  return (
    <DefinitionRows rows={[
      { term: t("families.pattern"), value: patternWords(record) },
      ...REGIONS.map((region) => {
        const finding = record.regions[region];
        const value = finding.state === "curve"
          ? `${t(`curve.isIs.${finding.convexSide}`)}, ${finding.apex}${finding.cobbDegrees === null ? "" : `, ${finding.cobbDegrees}°`}`
          : t(`curve.isIs.${finding.state}`);
        return { term: t(`curve.regionIs.${region}`), value };
      }),
      { term: t("families.child.source"), value: `${t(`curve.sourceIs.${record.source}`)}. ${t(`curve.filmIs.${record.filmViewedFrom}`)}` },
      { term: t("families.child.assessed"), value: formatLocalDate(record.assessedOn) },
      { term: t("families.reassess"), value: reassessWords(record.reassessBy, today) },
      ...(note ? [{ term: t("families.child.note"), value: note }] : []),
      { term: t("families.child.record"), value: t("families.child.recordBy", { date: formatDate(recordedAt, zone), who: recordedBy ?? t("families.system") }) },
    ]} />
  );
}
