import { endCareAction, recordAgreementAction } from "@/app/desk/people/actions";
import { ActionForm } from "@/app/ui/action-form";
import { CheckRow, Choice } from "@/app/ui/choice";
import { TextArea } from "@/app/ui/field";
import { Notice } from "@/app/ui/notice";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { say } from "@/lib/messages/say";
import type { CareOf, CarerView } from "@/lib/records/family-carers";

/** One carer with how to reach them, and for each child what they may do and how that ends. */
export function CarerRow({ carer, familyId }: { readonly carer: CarerView; readonly familyId: string }) {
  const t = say("auth");
  const { name, email, phone, relation, language, cares } = carer;
  return (
    <Stack gap="small">
      <p><strong>{name}</strong> · {t("people.caresFor", { relation, children: cares.map(({ childName }) => childName).join(", ") })}</p>
      <p>{email}{phone ? <> · {t("people.phone", { phone })}</> : null}{language ? <> · {t("people.reads", { language })}</> : null}</p>
      {cares.map((care) => (
        <Stack key={care.childId} gap="small">
          {care.reach === "none" ? <Notice kind="caution">{t(`people.closed.${relation}`, { name, child: care.childName })}</Notice> : null}
          {relation === "guardian" && care.isAdult ? <AgreementForm carer={carer} care={care} familyId={familyId} /> : null}
          <ActionForm action={endCareAction} once={crypto.randomUUID()} familyId={familyId}>
            <input type="hidden" name="personId" value={carer.personId} />
            <input type="hidden" name="careOf" value={care.childId} />
            {care.isLast ? <CheckRow name="isLastMeant" label={t("people.lastMeant", { child: care.childName })} /> : null}
            <SubmitButton kind="quiet" pending={t("people.ending")}>{t("people.end", { name, child: care.childName })}</SubmitButton>
          </ActionForm>
        </Stack>
      ))}
    </Stack>
  );
}

/** For an adult who cannot press it themself. */
function AgreementForm({ carer: { personId, name }, care, familyId }: { readonly carer: CarerView; readonly care: CareOf; readonly familyId: string }) {
  const t = say("auth");
  const title = t("people.agreement.title", { name, child: care.childName });
  return (
    <details>
      <summary>{title}</summary>
      <ActionForm action={recordAgreementAction} once={crypto.randomUUID()} familyId={familyId} label={title}>
        <input type="hidden" name="guardianId" value={personId} />
        <input type="hidden" name="careOf" value={care.childId} />
        <Choice legend={t("people.agreement.what")} name="decision" required
          options={(["agreed", "represents", "ended"] as const).map((value) => ({ value, label: t(`people.agreement.${value}`, { name, child: care.childName }) }))} />
        <TextArea label={t("people.agreement.note")} name="note" required maxLength={400} />
        <SubmitButton kind="quiet" pending={t("people.changing")}>{t("people.agreement.save")}</SubmitButton>
      </ActionForm>
    </details>
  );
}
