import type { Metadata } from "next";
import { PurposePart } from "@/app/family/consent/[childId]/purpose-part";
import { FamilyFrame } from "@/app/family/frame";
import { ButtonLink } from "@/app/ui/button";
import { Heading } from "@/app/ui/heading";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { say } from "@/lib/messages/say";
import { consentOf } from "@/lib/records/consents";
import { childOf } from "@/lib/records/families";

export const metadata: Metadata = { title: "Trueside" };

/** One child's consent, one purpose at a time; given, read and taken back on the same page. */
export default async function ConsentPage({ params }: { readonly params: Promise<{ readonly childId: string }> }) {
  const actor = await signedIn();
  const t = say("auth", actor.reader);
  const { childId } = await params;
  // Only who may decide reads this page; staff see the outcome at the desk.
  await grant(actor, "consent.give", childId);
  const granted = await grant(actor, "child.read", childId);
  const [child, consents] = [await childOf(granted), await consentOf(granted, Date.now())];
  return (
    <FamilyFrame current="account">
      <Heading level={1} lead={t("consent.lead")}>{t("consent.title", { child: child.givenName })}</Heading>
      {consents.map((consent) => (
        <PurposePart key={consent.purpose} consent={consent} childId={child.childId} child={child.givenName} zone={actor.timeZone} reader={actor.reader} />
      ))}
      <ButtonLink href="/family" kind="quiet">{t("consent.later")}</ButtonLink>
    </FamilyFrame>
  );
}
