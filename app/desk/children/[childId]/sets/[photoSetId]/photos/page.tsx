import Link from "next/link";
import { notFound } from "next/navigation";
import { setAsideAction } from "@/app/desk/children/[childId]/sets/[photoSetId]/photos/actions";
import { EraseForm } from "@/app/desk/erasures/erase-form";
import { ActionForm } from "@/app/ui/action-form";
import { CheckRow } from "@/app/ui/choice";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { PhotoFrame } from "@/app/ui/photo-frame";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { may } from "@/lib/domain/policy/policy";
import { formatDate, formatDateTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import { deskOf } from "@/lib/records/answering";
import { practiceOf } from "@/lib/records/practice";
import { momentWords } from "@/app/desk/children/[childId]/sets/[photoSetId]/desk-clip-words";

type Params = Promise<{ readonly childId: string; readonly photoSetId: string }>;

/** One set's photos taken out of sight by any therapist, erased by the lead; and its answer's spoken note. */
export default async function SetPhotosPage({ params }: { readonly params: Params }) {
  const t = say("erasures");
  const actor = await signedIn();
  const { childId, photoSetId } = await params;
  await grant(actor, "photo.set-aside", childId);
  const now = Date.now();
  const desk = await deskOf(await grant(actor, "answer.write", childId), photoSetId, now);
  if (!desk) notFound();
  const { timeZone: zone } = await practiceOf(await grant(actor, "practice.read", null), now);
  const { set, standing, answered } = desk;
  const isLead = may(actor.role, "erasure.settle");
  const isShown = standing.photoConsent === "given" && set.voidReason === null;
  return (
    <Stack gap="large">
      <Link href={`/desk/children/${childId}/sets/${photoSetId}`} prefetch={false}>{t("set.back")}</Link>
      <Heading level={1} lead={t("set.lead")}>{t("set.title", { child: standing.childName, date: formatDateTime(set.sentAt, zone) })}</Heading>
      {set.setAside > 0 ? <Notice kind="info">{t("set.asideCount", { n: set.setAside })}</Notice> : null}
      {set.photosErasedAt === null ? null : <Notice kind="info">{t("set.erasedOn", { date: formatDate(set.photosErasedAt, zone) })}</Notice>}
      {set.photos.length === 0 ? <p>{t("set.none")}</p> : (
        <RuledList label={t("set.link")}>
          {[...set.photos, ...set.moments].map(({ photoId, view, width, height, ...picture }, at) => {
            const name = "clipMs" in picture ? momentWords(picture.clipMs, picture.by).alt : t("set.photo", { n: at + 1, view: say("desk")(`answering.view.${view}`) });
            return (
              <RuledRow key={photoId}>
                <Stack gap="small">
                  <Heading level={2}>{name}</Heading>
                  {isShown ? <PhotoFrame src={`/media/${childId}/${photoId}/320`} alt={name} width={Math.round(width / 6)} height={Math.round(height / 6)} /> : null}
                  <ActionForm action={setAsideAction} once={crypto.randomUUID()} childId={childId} label={`${t("set.aside")}: ${name}`}>
                    <input type="hidden" name="photoSetId" value={photoSetId} />
                    <input type="hidden" name="photoId" value={photoId} />
                    <CheckRow label={t("set.asideSure")} name="sure" required />
                    <SubmitButton kind="quiet" pending={t("set.setting")}>{t("set.aside")}</SubmitButton>
                  </ActionForm>
                  {isLead ? <EraseForm childId={childId} kind="photo" objectId={photoId} photoSetId={photoSetId} label={`${t("set.erase")}: ${name}`} words={t("set.erase")} /> : null}
                </Stack>
              </RuledRow>
            );
          })}
        </RuledList>
      )}
      {isLead && answered?.voice ? (
        <section>
          <Heading level={2} lead={t("set.voiceStays")}>{t("set.voice")}</Heading>
          <EraseForm childId={childId} kind="voice-note" objectId={answered.voice.voiceNoteId} photoSetId={photoSetId} label={t("set.eraseVoice")} words={t("set.eraseVoice")} />
        </section>
      ) : null}
    </Stack>
  );
}
