import type { EditorForm } from "@/app/desk/exercises/form";
import { CheckGroup, CheckRow } from "@/app/ui/choice";
import { Field, SelectField } from "@/app/ui/field";
import { Columns, Row, Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { SIDE_DOWN } from "@/lib/domain/answering/check-answer";
import { TITLE_LENGTH } from "@/lib/domain/setup/exercise-words.schema";
import { EVIDENCE, PHASES, VIEWS } from "@/lib/domain/setup/vocabulary";
import { say } from "@/lib/messages/say";

/** One item of the exercise. What the side down must be is said, not asked. */
export function ItemFields({ itemKey, form, isOpen }: { readonly itemKey: string; readonly form: EditorForm; readonly isOpen: boolean }) {
  const t = say("exercises");
  const at = (part: string) => `item.${itemKey}.${part}`;
  const isSideDown = itemKey === SIDE_DOWN;
  const phase = PHASES.find((each) => each === form.value(at("phase")));
  const title = form.value(at("title")) || itemKey;
  const summary = [title, ...(phase ? [say("exercise")(`phases.${phase}`)] : []), ...(form.isTicked(at("stop")) ? [t("item.stop")] : [])].join(" · ");
  const tick = (part: string, label: string) => <CheckRow name={at(part)} label={label} defaultChecked={form.isTicked(at(part))} />;
  return (
    <details id={`item-${itemKey}`} open={isOpen || form.hasError(`item.${itemKey}`)}>
      <summary>{summary}</summary>
      <Stack>
        <Field label={t("edit.itemTitle")} name={at("title")} defaultValue={form.value(at("title"))} error={form.error(at("title"))} maxLength={TITLE_LENGTH} />
        {isSideDown ? (
          <>
            <p>{t("edit.sideDown")}</p>
            <input type="hidden" name={at("phase")} value="position" />
            {["stop", "required", "sides"].map((part) => <input key={part} type="hidden" name={at(part)} value="yes" />)}
          </>
        ) : (
          <SelectField label={t("edit.itemPhase")} name={at("phase")} defaultValue={phase ?? ""} error={form.error(at("phase"))}
            options={[{ value: "", label: t("edit.choose") }, ...PHASES.map((each) => ({ value: each, label: say("exercise")(`phases.${each}`) }))]} />
        )}
        <Columns>
          <CheckGroup legend={t("edit.evidence")} error={form.error(at("evidence"))}>
            {EVIDENCE.map((each) => <div key={each}>{tick(`evidence.${each}`, t(`evidence.${each}`))}</div>)}
          </CheckGroup>
          <CheckGroup legend={t("edit.views")} error={form.error(at("views"))}>
            {VIEWS.map((view) => <div key={view}>{tick(`view.${view}`, say("desk")(`answering.view.${view}`))}</div>)}
          </CheckGroup>
        </Columns>
        {isSideDown ? null : (
          <CheckGroup legend={t("edit.judged")} hint={t("edit.stopHint")}>
            {tick("stop", t("edit.stop"))}
            {tick("required", t("edit.required"))}
            {tick("sides", t("edit.sides"))}
          </CheckGroup>
        )}
        <Row>
          {(["up", "down", ...(isSideDown ? [] : ["remove" as const])] as const).map((act) => (
            <SubmitButton key={act} kind="quiet" pending={t(`edit.${act}`)} name="button" value={`item-${act}:${itemKey}`}>{t(`edit.${act}`)}</SubmitButton>
          ))}
        </Row>
      </Stack>
    </details>
  );
}
