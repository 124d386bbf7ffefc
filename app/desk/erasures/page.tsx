import { keepAction, keepFamilyAction, releaseAction } from "@/app/desk/erasures/actions";
import { EraseForm } from "@/app/desk/erasures/erase-form";
import { RetentionPart } from "@/app/desk/erasures/retention-part";
import { ActionForm } from "@/app/ui/action-form";
import { ButtonLink } from "@/app/ui/button";
import { CheckRow } from "@/app/ui/choice";
import { Heading } from "@/app/ui/heading";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { secondsOf } from "@/lib/domain/clip/moment";
import { formatDate, formatDateTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import { waitingErasures, type PracticeErasure } from "@/lib/records/erasures";
import { practiceOf } from "@/lib/records/practice";
import { photosSetAside, type SetAside } from "@/lib/records/quarantines";
import { retentionPlan } from "@/lib/records/retention";

/** What was asked to be erased, what is out of sight, and what is too old: for the lead. */
export default async function ErasuresPage() {
  const t = say("erasures");
  const actor = await signedIn();
  const now = Date.now();
  const granted = await grant(actor, "erasures.read", null);
  const [waiting, aside, plan] = await Promise.all([waitingErasures(granted), photosSetAside(granted), retentionPlan(granted, now)]);
  const { timeZone: zone } = await practiceOf(await grant(actor, "practice.read", null), now);
  return (
    <Stack gap="large">
      <Heading level={1} lead={t("lead")}>{t("title")}</Heading>
      <section>
        <Heading level={2}>{t("waiting")}</Heading>
        {waiting.length === 0 ? <p>{t("none")}</p> : (
          <RuledList label={t("waiting")}>{waiting.map((row) => <RuledRow key={row.requestId}><Waiting row={row} zone={zone} /></RuledRow>)}</RuledList>
        )}
      </section>
      <section>
        <Heading level={2} lead={t("aside.lead")}>{t("aside.title")}</Heading>
        {aside.length === 0 ? <p>{t("aside.none")}</p> : (
          <RuledList label={t("aside.title")}>{aside.map((photo) => <RuledRow key={photo.photoId}><OutOfSight photo={photo} zone={zone} /></RuledRow>)}</RuledList>
        )}
      </section>
      <RetentionPart view={plan} zone={zone} now={now} />
    </Stack>
  );
}

function Waiting({ row, zone }: { readonly row: PracticeErasure; readonly zone: string }) {
  const t = say("erasures");
  const { kind, childId, familyId, requestId } = row;
  const title = t(`row.${kind}`, { child: row.childName ?? "", family: row.familyName });
  const keep = (
    <ActionForm action={childId === null ? keepFamilyAction : keepAction} once={crypto.randomUUID()} {...(childId === null ? { familyId } : { childId })} label={`${t("keep")}: ${title}`}>
      <input type="hidden" name="requestId" value={requestId} />
      <SubmitButton kind="quiet" pending={t("keeping")}>{t("keep")}</SubmitButton>
    </ActionForm>
  );
  return (
    <Stack gap="small">
      <p><strong>{title}</strong></p>
      <p>{t("rowWhen", { who: row.askedBy, asked: formatDateTime(row.askedAt, zone), due: formatDateTime(row.dueAt, zone) })}</p>
      {keep}
      {childId !== null && (kind === "photo" || kind === "voice-note") ? <EraseForm childId={childId} kind={kind} objectId={row.objectId} label={`${t("now")}: ${title}`} words={t("now")} /> : (
        <p><ButtonLink kind="quiet" href={childId === null ? `/desk/families/${familyId}/erase` : `/desk/children/${childId}/erase`}>{t("now")}</ButtonLink></p>
      )}
    </Stack>
  );
}

function OutOfSight({ photo, zone }: { readonly photo: SetAside; readonly zone: string }) {
  const t = say("erasures");
  const view = say("desk")(`answering.view.${photo.view}`);
  const title = t("aside.row", { child: photo.childName, view: photo.clipMs === null ? view : say("pairs")("ofClip", { view, at: secondsOf(photo.clipMs) }), sent: formatDate(photo.sentAt, zone), who: photo.by, when: formatDateTime(photo.at, zone) });
  return (
    <Stack gap="small">
      <p>{title}</p>
      <EraseForm childId={photo.childId} kind="photo" objectId={photo.photoId} label={`${t("now")}: ${title}`} words={t("now")} />
      <ActionForm action={releaseAction} once={crypto.randomUUID()} childId={photo.childId} label={`${t("aside.release")}: ${title}`}>
        <input type="hidden" name="photoId" value={photo.photoId} />
        <CheckRow label={t("aside.releaseSure")} name="sure" required />
        <SubmitButton kind="quiet" pending={t("aside.releasing")}>{t("aside.release")}</SubmitButton>
      </ActionForm>
    </Stack>
  );
}
