import { ItemRow, RestRow } from "@/app/desk/children/[childId]/sets/[photoSetId]/item-row";
import { Heading } from "@/app/ui/heading";
import type { ChecklistRow } from "@/lib/domain/answering/checklist";
import type { SetupSides } from "@/lib/domain/setup/setup-sides";
import { VERDICTS } from "@/lib/domain/setup/vocabulary";
import { fillCue } from "@/lib/domain/words/cue";
import { say } from "@/lib/messages/say";
import { starterCues } from "@/lib/messages/starter-cues";

/** The items as ruled rows of a real form: four verdicts each, its cues with the sides filled in, and own words. */
export function ChecklistRows({ rows, setup, fields }: {
  readonly rows: readonly ChecklistRow[];
  readonly setup: SetupSides;
  readonly fields: Readonly<Record<string, string>>;
}) {
  const t = say("desk");
  const words = { cue: t("answering.cue"), cueNone: t("answering.cueNone"), own: t("answering.words"), missing: t("answering.missing") };
  return (
    <section>
      <Heading level={2}>{t("answering.checklist")}</Heading>
      {rows.map(({ item, isAsked }) => (
        <ItemRow
          key={item.key} itemKey={item.key} title={say("exercise")(`items.${item.key}.title`)} isStop={item.isStop}
          kind={item.isStop ? t("answering.stopItem") : isAsked ? t("answering.asked") : t("answering.offered")}
          verdicts={VERDICTS.filter((verdict) => !(item.isStop && verdict === "not-part")).map((verdict) => ({ value: verdict, label: t(`answering.verdict.${verdict}`) }))}
          cues={cuesOf(item.key, setup)} saved={savedOf(item.key, fields)} words={words}
        />
      ))}
      <RestRow saved={fields["rest"] === "yes"} title={t("answering.rest")} what={t("answering.restWhat")} />
    </section>
  );
}

/** Cues with this child's sides; one that names a side the set-up does not have is left out. */
function cuesOf(itemKey: string, setup: SetupSides): readonly string[] {
  return starterCues(itemKey).flatMap((cue) => {
    const filled = fillCue(cue, setup, (side) => say("common")("side", { side }));
    return filled.ok ? [filled.value] : [];
  });
}

const savedOf = (itemKey: string, fields: Readonly<Record<string, string>>): Record<string, string> =>
  Object.fromEntries(["verdict", "cue", "words"].flatMap((part) => {
    const value = fields[`${part}.${itemKey}`];
    return value === undefined ? [] : [[`${part}.${itemKey}`, value]];
  }));
