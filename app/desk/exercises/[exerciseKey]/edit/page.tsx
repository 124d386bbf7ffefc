import Link from "next/link";
import { notFound } from "next/navigation";
import { dropExerciseAction, writeExerciseAction } from "@/app/desk/exercises/actions";
import { Facts } from "@/app/desk/exercises/facts";
import { editorForm, type EditorForm } from "@/app/desk/exercises/form";
import { ItemFields } from "@/app/desk/exercises/item-fields";
import { Preview } from "@/app/desk/exercises/preview";
import { RuleFields } from "@/app/desk/exercises/rule-fields";
import { problemText } from "@/app/desk/exercises/words";
import { ActionForm } from "@/app/ui/action-form";
import { CheckGroup, CheckRow } from "@/app/ui/choice";
import { Field, TextArea } from "@/app/ui/field";
import { Heading } from "@/app/ui/heading";
import { Caution, Notice } from "@/app/ui/notice";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import { Columns, Row, Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { REGIONS } from "@/lib/domain/curve/region";
import type { Variation } from "@/lib/domain/setup/exercise";
import type { RuleDraft } from "@/lib/domain/setup/exercise-draft";
import { draftOf, keysIn } from "@/lib/domain/setup/exercise-fields";
import { TITLE_LENGTH } from "@/lib/domain/setup/exercise-words.schema";
import { PHASES } from "@/lib/domain/setup/vocabulary";
import { checkExercise } from "@/lib/domain/setup/write-exercise";
import { formatDateTime } from "@/lib/domain/time/format";
import { ruleWords } from "@/lib/messages/rule-words";
import { say } from "@/lib/messages/say";
import { exerciseShown, type ExerciseShown } from "@/lib/records/exercise-library";
import { exerciseInHand } from "@/lib/records/exercise-writing";

type Query = { readonly after?: string | string[]; readonly told?: string | string[]; readonly at?: string | string[] };
type Props = { readonly params: Promise<{ readonly exerciseKey: string }>; readonly searchParams: Promise<Query> };

const TOLD = ["exercise-incomplete", "exercise-changed", "exercise-unchecked", "exercise-version-taken"] as const;

/** The editor: everything stands in one form, kept by every button, tried on every pattern below. Needs no scripts. */
export default async function EditExercisePage({ params, searchParams }: Props) {
  const t = say("exercises");
  const actor = await signedIn();
  const { exerciseKey } = await params;
  const writing = await grant(actor, "exercise.write", null);
  const inHand = await exerciseInHand(writing, exerciseKey);
  if (!inHand) notFound();
  const { after, told, at } = await searchParams;
  const { fields, newest, basedOn, draftVersion } = inHand;
  const next = newest + 1;
  const draft = draftOf(fields);
  const { problems, written } = checkExercise(draft, exerciseKey, next);
  // A form that was only opened says nothing yet.
  const isAsked = fields["button"] !== undefined;
  const form = editorForm(fields, isAsked ? problems : []);
  const items = draft.items.map(({ key, title }) => ({ key, title: title || key }));
  const theirs = newest > basedOn ? await exerciseShown(await grant(actor, "exercise.read", null), exerciseKey, null) : null;
  const warned = TOLD.find((code) => code === told);
  const check = <Row><SubmitButton kind="quiet" pending={t("edit.checking")} name="button" value="check">{t("edit.check")}</SubmitButton></Row>;
  return (
    <Stack gap="large">
      <Link href={newest > 0 ? `/desk/exercises/${exerciseKey}` : "/desk/exercises"} prefetch={false}>{newest > 0 ? draft.title : t("show.back")}</Link>
      <Heading level={1} lead={t("edit.lead", { n: next })}>{t("edit.title", { title: draft.title })}</Heading>
      <Caution>{t("caution")}</Caution>
      <div id="told">{warned ? <Notice kind="problem">{say("problems")(warned)}</Notice> : null}</div>
      {inHand.savedAt === null ? null : <p>{t("edit.keptAt", { when: formatDateTime(inHand.savedAt, actor.timeZone) })}</p>}
      {theirs ? <Theirs shown={theirs} zone={actor.timeZone} /> : null}
      {/* Made anew after each button; a refused form, sent without scripts, comes back to the same address and keeps what was typed. */}
      <ActionForm key={String(at)} action={writeExerciseAction} once={crypto.randomUUID()} label={t("edit.title", { title: draft.title })}>
        {Object.entries({ exerciseKey, basedOn, draftVersion, newest, items: fields["items"] ?? "", rules: fields["rules"] ?? "" })
          .map(([name, value]) => <input key={name} type="hidden" name={name} value={value} />)}
        {/* The first button of the form, so that the Enter key checks and never moves an item. */}
        {check}
        {theirs ? <SubmitButton kind="quiet" pending={t("edit.rebase", { n: newest })} name="button" value="rebase">{t("edit.rebase", { n: newest })}</SubmitButton> : null}
        <Basics form={form} />
        <section id="items">
          <Stack>
            <Heading level={2} lead={t("edit.itemsHint")}>{t("edit.items")}</Heading>
            {form.error("items") ? <Notice kind="problem">{form.error("items")}</Notice> : null}
            {items.map(({ key }, index) => <ItemFields key={key} itemKey={key} form={form} isOpen={after === "item-add" && index === items.length - 1} />)}
            <div id="items-end">
              <Field label={t("edit.newItem")} name="newItem" maxLength={TITLE_LENGTH} defaultValue={fields["newItem"]} autoComplete="off" />
            </div>
            <Row><SubmitButton kind="quiet" pending={t("edit.addItem")} name="button" value="item-add">{t("edit.addItem")}</SubmitButton></Row>
          </Stack>
        </section>
        <section id="rules">
          <Stack>
            <Heading level={2} lead={t("edit.rulesHint")}>{t("edit.rules")}</Heading>
            {form.error("rules") ? <Notice kind="problem">{form.error("rules")}</Notice> : null}
            {draft.rules.map(({ key, ...rule }, index, all) => (
              <RuleFields key={key} ruleKey={key} n={index + 1} told={toldBy(rule)} items={items} form={form} isOpen={after === "rule-add" ? index === all.length - 1 : newest === 0 && !isAsked} />
            ))}
            <Row><SubmitButton kind="quiet" pending={t("edit.addRule")} name="button" value="rule-add">{t("edit.addRule")}</SubmitButton></Row>
            <div id="rules-end" />
          </Stack>
        </section>
        <section id="preview">
          <Stack>
            <Heading level={2}>{t("preview.title")}</Heading>
            {check}
            {isAsked && problems.length > 0 ? (
              <Notice kind="problem" title={t("edit.problems")}>
                <RuledList>{problems.map((each) => <RuledRow key={`${each.field} ${each.code} ${each.item ?? each.phase ?? ""}`}>{whereWords(each.field, form, keysIn(fields, "rules"))}{problemText(each)}</RuledRow>)}</RuledList>
              </Notice>
            ) : null}
            {written ? <Preview exercise={written.exercise} itemTitle={(key) => written.words.items[key] ?? key} /> : <p>{t("preview.none")}</p>}
            <CheckRow name="sure" label={t("edit.sure")} />
            <Row><SubmitButton pending={t("edit.saving")} name="button" value="save">{t("edit.save", { n: next })}</SubmitButton></Row>
          </Stack>
        </section>
      </ActionForm>
      {draftVersion === 0 ? null : (
        <details>
          <summary>{t("edit.drop")}</summary>
          <ActionForm action={dropExerciseAction} once={crypto.randomUUID()} label={t("edit.drop")}>
            <input type="hidden" name="exerciseKey" value={exerciseKey} />
            <CheckRow name="sure" label={t("edit.dropSure")} required />
            <SubmitButton kind="quiet" pending={t("edit.dropping")}>{t("edit.drop")}</SubmitButton>
          </ActionForm>
        </details>
      )}
    </Stack>
  );
}

/** A rule in words once every region is chosen. */
function toldBy({ when, opposite }: Omit<RuleDraft, "key">): string | null {
  const chosen = Object.entries(when).flatMap(([region, presence]) => (presence === null ? [] : [[region, presence] as const]));
  if (chosen.length < REGIONS.length || chosen.every(([, presence]) => presence === "none")) return null;
  // Every region was found to be chosen just above.
  return ruleWords({ when: Object.fromEntries(chosen) as Variation["when"], opposite });
}

/** Which item or rule a problem is about. */
function whereWords(field: string, form: EditorForm, rules: readonly string[]): string {
  const [list, key = ""] = field.split(".");
  if (list === "item") return `${form.value(`item.${key}.title`) || key}: `;
  return list === "rule" ? `${say("exercises")("edit.ruleN", { n: rules.indexOf(key) + 1 })}: ` : "";
}

function Basics({ form }: { readonly form: EditorForm }) {
  const t = say("exercises");
  return (
    <section>
      <Stack>
        <Heading level={2}>{t("edit.basics")}</Heading>
        <Field label={t("edit.name")} hint={t("start.nameHint")} name="title" defaultValue={form.value("title")} error={form.error("title")} maxLength={TITLE_LENGTH} autoComplete="off" />
        <TextArea label={t("edit.cautions")} hint={t("edit.cautionsHint")} name="cautions" defaultValue={form.value("cautions")} error={form.error("cautions")} maxLength={3000} />
        <Columns>
          <Field label={t("edit.breaths")} name="breaths" inputMode="numeric" defaultValue={form.value("breaths")} error={form.error("breaths")} maxLength={3} />
          <Field label={t("edit.times")} name="times" inputMode="numeric" defaultValue={form.value("times")} error={form.error("times")} maxLength={3} />
        </Columns>
        <CheckGroup legend={t("edit.phases")} hint={t("edit.phasesHint")} error={PHASES.map((phase) => form.error(`phase.${phase}`)).find((each) => each !== undefined)}>
          {PHASES.slice(1).map((phase) => (
            <CheckRow key={phase} name={`phase.${phase}`} label={say("exercise")(`phases.${phase}`)} defaultChecked={form.isTicked(`phase.${phase}`)} />
          ))}
        </CheckGroup>
      </Stack>
    </section>
  );
}

/** A version that somebody saved meanwhile, beside the one in hand. */
function Theirs({ shown, zone }: { readonly shown: ExerciseShown; readonly zone: string }) {
  const t = say("exercises");
  const [last] = shown.history;
  return (
    <Notice kind="caution" title={t("edit.taken", { n: shown.newest, who: last?.by ?? "", when: last ? formatDateTime(last.at, zone) : "" })}>
      <p>{t("edit.takenWhat")}</p>
      <details>
        <summary>{t("edit.takenOpen", { n: shown.newest })}</summary>
        <p><strong>{shown.names.title}</strong></p>
        <Facts exercise={shown.exercise} names={shown.names} />
        <Preview exercise={shown.exercise} itemTitle={shown.names.itemTitle} />
      </details>
    </Notice>
  );
}
