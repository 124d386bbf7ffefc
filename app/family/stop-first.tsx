import { readBackAction } from "@/app/family/actions";
import { callSaid } from "@/app/family/expectation";
import styles from "@/app/family/family.module.css";
import { emergency, reasonSaid, shownSetup } from "@/app/family/words";
import { ActionForm } from "@/app/ui/action-form";
import { Choice } from "@/app/ui/choice";
import { Notice } from "@/app/ui/notice";
import { Said } from "@/app/ui/said";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import type { Actor } from "@/lib/access/actor";
import { READ_BACK_CHOICES, type OpenReadBack } from "@/lib/domain/answering/read-back";
import type { Reader } from "@/lib/domain/words/reader";
import { say } from "@/lib/messages/say";
import { sideAndProp } from "@/lib/messages/setup-words";
import type { Standing } from "@/lib/records/standing";

/** A child's open stops and the question that shows they were understood, before anything else on the screen. */
export function StopFirst({ standings, asked, isReadBack, actor, now }: {
  readonly standings: readonly Standing[];
  readonly asked: readonly OpenReadBack[];
  /** This person answered all that was asked about them. */
  readonly isReadBack: boolean;
  readonly actor: Actor;
  readonly now: number;
}) {
  const reasons = standings.flatMap((standing) => standing.phases.flatMap((each) => each.goAhead.reasons));
  const has = (code: string) => reasons.some((reason) => reason.code === code);
  // One call is promised, by the flag that came first; the most urgent one says what must not wait for it.
  const flags = reasons.flatMap((reason) => (reason.since !== null && (reason.code === "symptom-urgent" || reason.code === "symptom-today") ? [{ code: reason.code, since: reason.since }] : []));
  const since = Math.min(...flags.map((flag) => flag.since));
  const told = flags.length > 0 ? { code: has("symptom-urgent") ? "symptom-urgent" : "symptom-today", since } as const : null;
  // Each item once: a stop covers every phase.
  const items = standings.flatMap(({ names, phases }) => [...new Map(phases.flatMap((each) => each.goAhead.reasons).flatMap((reason) => {
    const said = reasonSaid(reason, names, actor);
    return reason.code === "stop-item-fix" ? [[said.key, { ...said, lang: names.languageOf(said.item) }] as const] : [];
  })).values()]);
  const [first] = standings;
  const family = say("family", actor.reader);
  if (!first || standings.every((each) => each.overall !== "stop")) return null;
  return (
    <Stack>
      <Notice kind="stop" title={family("stopFor", { child: first.childName })}>
        {has("symptom-urgent") ? <p><strong>{emergency(actor, now)}</strong></p> : null}
        {has("symptom-today") ? <p>{family("stopToday")}</p> : null}
        {told ? <p>{callSaid(told.code === "symptom-urgent" ? "urgent" : "today", told.since, actor, now)}</p> : null}
        {items.map((each) => <p key={each.key}><Said words={each.text} part={each.item} lang={each.lang} /> <span className={styles.small}>{each.decided}</span></p>)}
        {has("staff-stop") ? <p>{family("stopPlaced")}</p> : null}
        {isReadBack ? <p>{family("readBack.done")}</p> : null}
      </Notice>
      {asked.map((each) => (
        <Question key={`${each.stopId} ${each.question}`} asked={each} standing={standings.find((one) => one.exerciseKey === each.exerciseKey) ?? first} reader={actor.reader} />
      ))}
    </Stack>
  );
}

function Question({ asked, standing, reader }: { readonly asked: OpenReadBack; readonly standing: Standing; readonly reader: Reader }) {
  const family = say("family", reader);
  const setup = shownSetup(standing);
  const question = family(`readBack.question.${asked.question}`, { child: standing.childName });
  return (
    <ActionForm action={readBackAction} once={crypto.randomUUID()} childId={standing.childId} label={question}>
      {asked.wasWrong ? (
        <Notice kind="stop" title={family("readBack.wrong")}>
          {setup && asked.question !== "practise" ? sideAndProp(setup, reader).map((line) => <p key={line}><strong>{line}</strong></p>) : null}
          {asked.question === "practise" ? <p>{family("readBack.choice.no")}</p> : null}
        </Notice>
      ) : <p>{family("readBack.lead")}</p>}
      <input type="hidden" name="stopId" value={asked.stopId} />
      <input type="hidden" name="exerciseKey" value={asked.exerciseKey} />
      <input type="hidden" name="question" value={asked.question} />
      <Choice legend={question} name="choice" required
        options={READ_BACK_CHOICES[asked.question].map((value) => ({ value, label: family(`readBack.choice.${value}`) }))} />
      <SubmitButton kind="stop" pending={family("readBack.sending")}>{family("readBack.send")}</SubmitButton>
    </ActionForm>
  );
}
