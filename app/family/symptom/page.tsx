import type { Metadata } from "next";
import { reportAction } from "@/app/family/actions";
import { callIfTold } from "@/app/family/expectation";
import { ReportHere } from "@/app/family/kept/report-here";
import { FamilyFrame } from "@/app/family/frame";
import { emergency } from "@/app/family/words";
import { ActionForm } from "@/app/ui/action-form";
import { CheckGroup, CheckRow, Choice } from "@/app/ui/choice";
import { TextArea } from "@/app/ui/field";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { SubmitButton } from "@/app/ui/submit-button";
import { readerNow, signedIn } from "@/lib/access/session";
import { SYMPTOM_KEYS, SYMPTOMS } from "@/lib/domain/symptoms/symptoms";
import { say } from "@/lib/messages/say";
import { childrenOf } from "@/lib/records/families";

export const generateMetadata = async (): Promise<Metadata> => ({ title: say("family", await readerNow())("symptom.title") });

/** Two tiers, no photo, no scripts needed. */
export default async function Page() {
  const actor = await signedIn();
  const family = say("family", actor.reader);
  const tier = (name: "urgent" | "today") => SYMPTOM_KEYS.filter((key) => SYMPTOMS[key] === name)
    .map((key) => <CheckRow key={key} name="noticed" value={key} label={family(`symptom.is.${key}`)} />);
  return (
    <FamilyFrame>
      <Heading level={1} lead={family("symptom.lead")}>{family("symptom.title")}</Heading>
      <ActionForm action={reportAction} once={crypto.randomUUID()} problemWords={{ "symptoms-unanswered": family("problem.symptoms-unanswered") }} label={family("symptom.title")}>
        <ReportHere personId={actor.personId} />
        <Choice legend={family("symptom.who")} name="childId" required
          options={(await childrenOf(actor)).map((child) => ({ value: child.childId, label: child.givenName }))} />
        <Notice kind="stop" title={family("symptom.urgent")}>{emergency(actor, Date.now())}</Notice>
        <CheckGroup legend={family("symptom.urgent")}>{tier("urgent")}</CheckGroup>
        <CheckGroup legend={family("symptom.today")} hint={family("stopToday")}>{tier("today")}</CheckGroup>
        <TextArea name="note" label={family("symptom.note")} hint={say("care", actor.reader)("sharedRecord")} maxLength={2000} />
        <p>{callIfTold(actor, Date.now())}</p>
        <SubmitButton kind="stop" pending={family("symptom.sending")}>{family("symptom.send")}</SubmitButton>
      </ActionForm>
    </FamilyFrame>
  );
}
