import type { EditorForm } from "@/app/desk/exercises/form";
import { curveSideWords } from "@/app/desk/exercises/words";
import { CheckGroup, CheckRow } from "@/app/ui/choice";
import { SelectField } from "@/app/ui/field";
import { Heading } from "@/app/ui/heading";
import { Columns, Row, Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { REGIONS } from "@/lib/domain/curve/region";
import {
  ACTIVATIONS, BOTTOM_ARM_POSITIONS, BOTTOM_LEG_POSITIONS, BREATHS, MOVEMENTS, PROP_KINDS, PROP_PLACES, TOP_ARM_POSITIONS, TOP_LEG_POSITIONS,
} from "@/lib/domain/setup/exercise";
import { COVERED_KINDS, CURVE_SIDES, pairName, PRESENCES, REGION_PAIRS } from "@/lib/domain/setup/exercise-fields";
import { say } from "@/lib/messages/say";

/** The rule of one condition: pickers only, every side in curve terms. */
export function RuleFields({ ruleKey, n, told, items, form, isOpen }: {
  readonly ruleKey: string;
  readonly n: number;
  /** Which backs it is for, once that is chosen. */
  readonly told: string | null;
  readonly items: readonly { readonly key: string; readonly title: string }[];
  readonly form: EditorForm;
  readonly isOpen: boolean;
}) {
  const t = say("exercises");
  const desk = say("desk");
  const region = (each: string) => say("exercise")("pattern.region", { region: each });
  const at = (part: string) => `rule.${ruleKey}.${part}`;
  const pick = (part: string, label: string, options: readonly (readonly [string, string])[]) => (
    <SelectField label={label} name={at(part)} defaultValue={form.value(at(part)) ?? ""} error={form.error(at(part))}
      options={[{ value: "", label: t("edit.choose") }, ...options.map(([value, word]) => ({ value, label: word }))]} />
  );
  const from = (list: readonly string[], word: (value: string) => string) => list.map((value) => [value, word(value)] as const);
  const sides = CURVE_SIDES.map((side) => [side, curveSideWords(side)] as const);
  return (
    <details id={`rule-${ruleKey}`} open={isOpen || form.hasError(`rule.${ruleKey}`)}>
      <summary>{t("edit.ruleN", { n })}{told ? `. ${told}` : ""}</summary>
      <Stack>
        {pick("coverage", t("edit.coverage"), from(COVERED_KINDS, (each) => t(`edit.coverageIs.${each}`)))}
        <Heading level={3}>{t("edit.whenTitle")}</Heading>
        <Columns>
          {REGIONS.map((each) => <div key={each}>{pick(`when.${each}`, t("edit.when", { region: region(each) }), from(PRESENCES, (value) => t(`edit.whenIs.${value}`)))}</div>)}
        </Columns>
        <CheckGroup legend={t("edit.opposite")} error={[form.error(at("when")), form.error(at("opposite"))].filter((each) => each !== undefined).join(" ") || undefined}>
          {REGION_PAIRS.map(([one, other]) => {
            const name = at(`opposite.${pairName([one, other])}`);
            return <CheckRow key={name} name={name} label={t("edit.oppositeOne", { one: region(one), other: region(other) })} defaultChecked={form.isTicked(name)} />;
          })}
        </CheckGroup>
        <Heading level={3}>{t("edit.body")}</Heading>
        <Columns>
          {pick("lieOn", t("edit.lieOn"), sides)}
          {pick("propKind", desk("setup.prop"), from(["none", ...PROP_KINDS], (each) => desk(`setup.propIs.${each}`)))}
          {pick("propPlace", desk("setup.propPlace"), from(PROP_PLACES, (each) => desk(`setup.placeIs.${each}`)))}
          {pick("topArm", t("edit.topArm"), from(TOP_ARM_POSITIONS, (each) => desk(`setup.armIs.${each}`)))}
          {pick("bottomArm", t("edit.bottomArm"), from(BOTTOM_ARM_POSITIONS, (each) => t(`edit.bottomArmIs.${each}`)))}
          {pick("topLeg", t("edit.topLeg"), from(TOP_LEG_POSITIONS, (each) => t(`edit.topLegIs.${each}`)))}
          {pick("bottomLeg", t("edit.bottomLeg"), from(BOTTOM_LEG_POSITIONS, (each) => t(`edit.bottomLegIs.${each}`)))}
        </Columns>
        <Heading level={3}>{t("edit.doing")}</Heading>
        <Columns>
          {pick("breath", desk("setup.breath"), from(BREATHS, (each) => desk(`setup.breathIs.${each}`)))}
          {pick("breatheInto", desk("setup.breatheInto"), [["none", desk("setup.breatheIntoIs.none")], ...sides])}
          {pick("movement", desk("setup.movement"), from(MOVEMENTS, (each) => desk(`setup.movementIs.${each}`)))}
          {pick("activation", desk("setup.activation"), from(["none", ...ACTIVATIONS], (each) => desk(`setup.activationIs.${each}`)))}
        </Columns>
        <CheckGroup legend={t("edit.ruleItems")} error={form.error(at("items"))}>
          {items.map(({ key, title }) => <CheckRow key={key} name={at(`item.${key}`)} label={title} defaultChecked={form.isTicked(at(`item.${key}`))} />)}
        </CheckGroup>
        <Row>
          <SubmitButton kind="quiet" pending={t("edit.removeRule", { n })} name="button" value={`rule-remove:${ruleKey}`}>{t("edit.removeRule", { n })}</SubmitButton>
        </Row>
      </Stack>
    </details>
  );
}
