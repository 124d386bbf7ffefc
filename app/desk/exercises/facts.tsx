import { Heading } from "@/app/ui/heading";
import { DefinitionRows, RuledList, RuledRow } from "@/app/ui/ruled";
import { Stack } from "@/app/ui/stack";
import type { Exercise, ExerciseItem } from "@/lib/domain/setup/exercise";
import { say } from "@/lib/messages/say";
import type { ExerciseNames } from "@/lib/records/exercise-names";

/** Phases, dose, cautions and items of one version. */
export function Facts({ exercise, names }: { readonly exercise: Exercise; readonly names: ExerciseNames }) {
  const t = say("exercises");
  const words = say("exercise");
  return (
    <Stack>
      <DefinitionRows rows={[
        { term: t("show.phases"), value: exercise.phases.map((phase) => words(`phases.${phase}`)).join(", ") },
        { term: t("show.dose"), value: words("setup.dose", exercise.dose) },
        { term: t("show.cautions"), value: names.cautions.length === 0 ? t("show.noCautions") : names.cautions.map((caution) => <p key={caution}>{caution}</p>) },
      ]} />
      <Heading level={3}>{t("show.items")}</Heading>
      <RuledList label={t("show.items")}>
        {exercise.items.map((item) => <RuledRow key={item.key}><strong>{names.itemTitle(item.key)}</strong>. {itemWords(item)}</RuledRow>)}
      </RuledList>
    </Stack>
  );
}

function itemWords(item: ExerciseItem): string {
  const t = say("exercises");
  return [
    `${say("exercise")(`phases.${item.phase}`)}, ${item.isStop ? t("item.stop") : item.requiredForGo ? t("item.required") : t("item.notRequired")}.`,
    t("item.seen", { evidence: item.evidence.map((each) => t(`evidence.${each}`)).join(", "), views: item.views.map((view) => say("desk")(`answering.view.${view}`)).join(", ") }),
    item.sideDependent ? t("item.sides") : t("item.noSides"),
  ].join(" ");
}
