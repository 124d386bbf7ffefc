import type { Metadata } from "next";
import { notFound } from "next/navigation";
import { askErasePhotoAction } from "@/app/family/erase/[childId]/actions";
import { FamilyFrame } from "@/app/family/frame";
import { ActionForm } from "@/app/ui/action-form";
import { ButtonLink } from "@/app/ui/button";
import { CheckRow } from "@/app/ui/choice";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { PhotoFrame } from "@/app/ui/photo-frame";
import { SubmitButton } from "@/app/ui/submit-button";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { formatDateTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import { entryOf } from "@/lib/records/answers-read";
import { erasuresOf } from "@/lib/records/erasures";
import { childOf } from "@/lib/records/families";

export const metadata: Metadata = { title: "Trueside" };

type Params = Promise<{ readonly childId: string; readonly photoSetId: string }>;

/** The photos of one set, each to be erased by itself. */
export default async function ErasePhotosPage({ params }: { readonly params: Params }) {
  const actor = await signedIn();
  const { reader, timeZone: zone } = actor;
  const t = say("erasing", reader);
  const family = say("family", reader);
  const { childId, photoSetId } = await params;
  await grant(actor, "erasure.take-back", childId);
  const reading = await grant(actor, "child.read", childId);
  const entry = await entryOf(reading, photoSetId, Date.now());
  if (!entry) notFound();
  const [{ givenName: child }, waiting] = await Promise.all([childOf(reading), erasuresOf(reading)]);
  return (
    <FamilyFrame current="history">
      <Heading level={1} lead={t("setLead", { date: formatDateTime(entry.sentAt, zone, reader.locale) })}>{t("setTitle", { child })}</Heading>
      <p>{t("setGoes")}</p>
      {entry.pictures.length === 0 ? <p>{t("noPhotos")}</p> : null}
      {entry.pictures.map(({ photoId, view, width, height }) => {
        const alt = family("history.photoAlt", { view: family(`history.viewIs.${view}`) });
        const asked = waiting.find(({ kind, objectId }) => kind === "photo" && objectId === photoId);
        return (
          <section key={photoId}>
            <PhotoFrame src={`/media/${childId}/${photoId}/320`} width={width} height={height} alt={alt} />
            {asked ? <Notice kind="info">{t("asked", { due: formatDateTime(asked.dueAt, zone, reader.locale) })}</Notice> : (
              <ActionForm action={askErasePhotoAction} once={crypto.randomUUID()} childId={childId} label={`${t("askPhoto")}: ${alt}`}>
                <input type="hidden" name="photoId" value={photoId} />
                <CheckRow label={t("photoSure")} name="sure" required />
                <SubmitButton kind="quiet" pending={t("asking")}>{t("askPhoto")}</SubmitButton>
              </ActionForm>
            )}
          </section>
        );
      })}
      <ButtonLink href="/family/history" kind="quiet">{t("toHistory")}</ButtonLink>
    </FamilyFrame>
  );
}
