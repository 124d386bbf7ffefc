import { confirmChildAction, settleMirrorAction } from "@/app/desk/children/[childId]/sets/[photoSetId]/mirror-actions";
import { ActionForm } from "@/app/ui/action-form";
import { Choice } from "@/app/ui/choice";
import { TextArea } from "@/app/ui/field";
import { Notice } from "@/app/ui/notice";
import { SubmitButton } from "@/app/ui/submit-button";
import { say } from "@/lib/messages/say";
import type { SentPhoto } from "@/lib/records/answering";

type Of = { readonly childId: string; readonly photoSetId: string; readonly photo: SentPhoto; readonly name: string };

/** What one photo's side card says where that is out of the ordinary. */
export function CardNotices({ childId, photoSetId, photo: { photoId, card, isTurnedBack, needsEye }, name, isOpen }: Of & { readonly isOpen: boolean }) {
  const t = say("cards");
  return (
    <>
      {isTurnedBack ? <Notice kind="info">{`${name}: ${t("desk.turnedBack")}`}</Notice> : null}
      {card?.found === "several" ? <Notice kind="caution">{`${name}: ${t("desk.several")}`}</Notice> : null}
      {card?.found === "one" && card.owner === "unknown" ? <Notice kind="info">{`${name}: ${t("desk.unknown")}`}</Notice> : null}
      {card?.found === "one" && card.turnToUpright !== 0 ? <Notice kind="caution">{`${name}: ${t("desk.notUpright")}`}</Notice> : null}
      {needsEye ? (
        <Notice kind="caution">
          <p>{`${name}: ${t("desk.other")}`}</p>
          {isOpen ? (
            <ActionForm action={confirmChildAction} once={crypto.randomUUID()} childId={childId} label={t("desk.otherSeen")}>
              <input type="hidden" name="photoSetId" value={photoSetId} />
              <input type="hidden" name="photoId" value={photoId} />
              <SubmitButton kind="quiet" pending={t("desk.saving")}>{t("desk.otherSeen")}</SubmitButton>
            </ActionForm>
          ) : null}
        </Notice>
      ) : null}
    </>
  );
}

/** Whether anything proves that one photo is not mirror-reversed, and the settling of it by a person. */
export function MirrorForm({ childId, photoSetId, photo: { photoId, isTurnedBack, mirrorSettledBy }, name }: Of) {
  const t = say("cards");
  return (
    <details>
      <summary>{`${t("desk.settle")}: ${name}`}</summary>
      <p>{t(`desk.proof.${mirrorSettledBy ?? "none"}`)} {t("desk.settleWhat")}</p>
      <ActionForm action={settleMirrorAction} once={crypto.randomUUID()} childId={childId} label={`${t("desk.settle")}: ${name}`}>
        <input type="hidden" name="photoSetId" value={photoSetId} />
        <input type="hidden" name="photoId" value={photoId} />
        <Choice legend={t("desk.settle")} name="was" required options={isTurnedBack
          ? [{ value: "true-as-it-came", label: t("desk.wasNot") }, { value: "mirrored", label: t("desk.stay") }]
          : [{ value: "mirrored", label: t("desk.turn") }, { value: "true-as-it-came", label: t("desk.notMirrored") }]} />
        <TextArea label={t("desk.reason")} name="reason" rows={2} required maxLength={500} />
        <SubmitButton kind="quiet" pending={t("desk.saving")}>{t("desk.save")}</SubmitButton>
      </ActionForm>
    </details>
  );
}
