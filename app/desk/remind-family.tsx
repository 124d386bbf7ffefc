import { remindOfQuestionAction } from "@/app/desk/remind-action";
import { ActionForm } from "@/app/ui/action-form";
import { SubmitButton } from "@/app/ui/submit-button";
import { say } from "@/lib/messages/say";
import type { OnFamilyRow } from "@/lib/records/queue";

/** One press that mails whoever can answer what was asked back, at most once a day. */
export function RemindFamily({ row }: { readonly row: OnFamilyRow }) {
  const t = say("questions");
  if (row.isReminded) return <p>{t("desk.family.reminded")}</p>;
  return (
    <ActionForm action={remindOfQuestionAction} once={crypto.randomUUID()} childId={row.childId} label={t("desk.family.remindOf", { child: row.childName })}>
      <input type="hidden" name="backQuestionId" value={row.openQuestionId} />
      <SubmitButton kind="quiet" pending={t("desk.family.reminding")}>{t("desk.family.remind")}</SubmitButton>
    </ActionForm>
  );
}
