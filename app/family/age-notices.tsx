import { ButtonLink } from "@/app/ui/button";
import { Notice } from "@/app/ui/notice";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { say } from "@/lib/messages/say";
import { consentOf } from "@/lib/records/consents";
import { childrenOf, closedChildrenOf } from "@/lib/records/families";
import { fellowCarers } from "@/lib/records/family-carers";

/** What an age has changed for the reader: whom they see no longer or not yet, and what an adult now decides. */
export async function AgeNotices({ actor, now }: { readonly actor: Actor; readonly now: number }) {
  const t = say("care", actor.reader);
  const isSelf = actor.role === "young-person";
  const closed = await closedChildrenOf(actor);
  return (
    <>
      {closed.map((child) => <Notice key={child} kind="caution">{isSelf ? t("closedSelf") : t("closedGuardian", { child })}</Notice>)}
      {isSelf ? <AdultNotice actor={actor} now={now} /> : null}
    </>
  );
}

async function AdultNotice({ actor, now }: { readonly actor: Actor; readonly now: number }) {
  const t = say("care", actor.reader);
  const [self] = (await childrenOf(actor)).filter(({ reach }) => reach === "decide");
  if (!self) return null;
  const photos = (await consentOf(await grant(actor, "child.read", self.childId), now)).find(({ purpose }) => purpose === "photos");
  if (photos?.decision) return null;
  const fellows = await fellowCarers(await grant(actor, "read-back.answer", self.childId), now);
  return (
    <Notice kind="info" title={t("adult.title")}>
      <p>{t("adult.consent")}</p>
      {fellows.some(({ agreement }) => agreement === null) ? <p>{t("adult.fellows")}</p> : null}
      <ButtonLink href={`/family/consent/${self.childId}`}>{t("adult.toConsent")}</ButtonLink>
    </Notice>
  );
}
