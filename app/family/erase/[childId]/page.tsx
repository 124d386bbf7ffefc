import type { Metadata } from "next";
import { askEraseChildAction, doNotEraseAction } from "@/app/family/erase/[childId]/actions";
import { FamilyFrame } from "@/app/family/frame";
import { ActionForm } from "@/app/ui/action-form";
import { ButtonLink } from "@/app/ui/button";
import { Field } from "@/app/ui/field";
import { Heading } from "@/app/ui/heading";
import { Caution } from "@/app/ui/notice";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { formatDate, formatDateTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import { erasuresOf, type WaitingErasure } from "@/lib/records/erasures";
import { childOf } from "@/lib/records/families";

export const metadata: Metadata = { title: "Trueside" };

const GOES = ["photos", "record", "people", "phones"] as const;
const STAYS = ["stone", "log", "backups"] as const;

/** What of one child is to be erased, what goes and what stays; taken back on the same page. */
export default async function ErasePage({ params }: { readonly params: Promise<{ readonly childId: string }> }) {
  const actor = await signedIn();
  const t = say("erasing", actor.reader);
  const { childId } = await params;
  // Only who decides for the child reads this page.
  await grant(actor, "erasure.take-back", childId);
  const reading = await grant(actor, "child.read", childId);
  const [{ givenName: child }, waiting] = await Promise.all([childOf(reading), erasuresOf(reading)]);
  const isAsked = waiting.some(({ kind }) => kind === "child" || kind === "family");
  return (
    <FamilyFrame current="account">
      <Heading level={1} lead={t("lead", { child })}>{t("title", { child })}</Heading>
      {waiting.length > 0 ? (
        <section>
          <Heading level={2}>{t("waiting")}</Heading>
          <RuledList label={t("waiting")}>{waiting.map((row) => <RuledRow key={row.requestId}><Waiting row={row} childId={childId} child={child} actor={actor} /></RuledRow>)}</RuledList>
        </section>
      ) : null}
      <section>
        <Heading level={2} lead={t("photosWhere")}>{t("photos")}</Heading>
        <ButtonLink kind="quiet" href="/family/history">{t("toHistory")}</ButtonLink>
      </section>
      {isAsked ? null : (
        <section>
          <Stack>
            <Heading level={2}>{t("all", { child })}</Heading>
            <p><strong>{t("goes")}</strong></p>
            <RuledList label={t("goes")}>{GOES.map((each) => <RuledRow key={each}>{t(`goesIs.${each}`)}</RuledRow>)}</RuledList>
            <p><strong>{t("stays")}</strong></p>
            <RuledList label={t("stays")}>{STAYS.map((each) => <RuledRow key={each}>{t(`staysIs.${each}`)}</RuledRow>)}</RuledList>
            <p>{t("law")}</p>
            <Caution>{t("stop")}</Caution>
            <ActionForm action={askEraseChildAction} once={crypto.randomUUID()} childId={childId} label={t("all", { child })}>
              <Field label={t("typeName", { child })} name="typedName" required maxLength={80} autoComplete="off" />
              <SubmitButton kind="quiet" pending={t("asking")}>{t("ask", { child })}</SubmitButton>
            </ActionForm>
          </Stack>
        </section>
      )}
      <ButtonLink href="/family/account" kind="quiet">{t("back")}</ButtonLink>
    </FamilyFrame>
  );
}

function Waiting({ row, childId, child, actor }: { readonly row: WaitingErasure; readonly childId: string; readonly child: string; readonly actor: Actor }) {
  const { reader, timeZone: zone } = actor;
  const t = say("erasing", reader);
  const { kind, requestId, askedBy, askedAt, dueAt } = row;
  const said = t(`waitingIs.${kind}`, { child, who: askedBy, asked: formatDate(askedAt, zone, reader.locale), due: formatDateTime(dueAt, zone, reader.locale) });
  if (kind === "family") return <p>{said}</p>;
  return (
    <Stack gap="small">
      <p>{said}</p>
      <ActionForm action={doNotEraseAction} once={crypto.randomUUID()} childId={childId} label={said}>
        <input type="hidden" name="requestId" value={requestId} />
        <SubmitButton pending={t("takingBack")}>{t("takeBack")}</SubmitButton>
      </ActionForm>
    </Stack>
  );
}
