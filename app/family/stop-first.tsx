import { readBackAction } from "@/app/family/actions";
import { emergency, problemWords, sideAndProp, shownSetup } from "@/app/family/words";
import { ActionForm } from "@/app/ui/action-form";
import { Choice } from "@/app/ui/choice";
import { Notice } from "@/app/ui/notice";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import type { Actor } from "@/lib/access/actor";
import { say } from "@/lib/messages/say";
import { READ_BACK_CHOICES, type OpenReadBack } from "@/lib/records/read-backs";
import type { Standing } from "@/lib/records/standing";

const family = say("family");

/** A child's open stops and the question that shows they were understood, before anything else on the screen. */
export function StopFirst({ standings, asked, actor, now }: {
  readonly standings: readonly Standing[];
  readonly asked: readonly OpenReadBack[];
  readonly actor: Actor;
  readonly now: number;
}) {
  const reasons = standings.flatMap((standing) => standing.phases.flatMap((each) => each.goAhead.reasons));
  const has = (code: string) => reasons.some((reason) => reason.code === code);
  const [first] = standings;
  if (!first || standings.every((each) => each.overall !== "stop")) return null;
  return (
    <Stack>
      <Notice kind="stop" title={family("stopFor", { child: first.childName })}>
        {has("symptom-urgent") ? <p><strong>{emergency(actor, now)}</strong></p> : null}
        {has("symptom-today") ? <p>{family("stopToday")}</p> : null}
        {has("staff-stop") ? <p>{family("stopPlaced")}</p> : null}
      </Notice>
      {asked.map((each) => (
        <Question key={`${each.stopId} ${each.question}`} asked={each} standing={standings.find((one) => one.exerciseKey === each.exerciseKey) ?? first} />
      ))}
    </Stack>
  );
}

function Question({ asked, standing }: { readonly asked: OpenReadBack; readonly standing: Standing }) {
  const setup = shownSetup(standing);
  const question = family(`readBack.question.${asked.question}`, { child: standing.childName });
  return (
    <ActionForm action={readBackAction} once={crypto.randomUUID()} childId={standing.childId} problemWords={problemWords()} label={question}>
      {asked.wasWrong ? (
        <Notice kind="stop" title={family("readBack.wrong")}>
          {setup && asked.question !== "practise" ? sideAndProp(setup).map((line) => <p key={line}><strong>{line}</strong></p>) : null}
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
