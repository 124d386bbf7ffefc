import { eraseOneAction } from "@/app/desk/erasures/actions";
import { ActionForm } from "@/app/ui/action-form";
import { CheckRow } from "@/app/ui/choice";
import { SubmitButton } from "@/app/ui/submit-button";
import { say } from "@/lib/messages/say";

/** Erases one photo or spoken note at once; for the lead alone. With a set, it comes back to its page. */
export function EraseForm({ childId, kind, objectId, photoSetId, label, words }: {
  readonly childId: string;
  readonly kind: "photo" | "voice-note";
  readonly objectId: string;
  readonly photoSetId?: string;
  readonly label: string;
  readonly words: string;
}) {
  const t = say("erasures");
  return (
    <ActionForm action={eraseOneAction} once={crypto.randomUUID()} childId={childId} label={label}>
      <input type="hidden" name="kind" value={kind} />
      <input type="hidden" name="objectId" value={objectId} />
      {photoSetId === undefined ? null : <input type="hidden" name="photoSetId" value={photoSetId} />}
      <CheckRow label={t("sure")} name="sure" required />
      <SubmitButton kind="quiet" pending={t("erasing")}>{words}</SubmitButton>
    </ActionForm>
  );
}
