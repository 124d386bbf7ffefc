import type { Metadata } from "next";
import { ExportPart } from "@/app/exports/export-part";
import { FamilyFrame } from "@/app/family/frame";
import { ButtonLink } from "@/app/ui/button";
import { Heading } from "@/app/ui/heading";
import { grant } from "@/lib/access/grant";
import { readerNow, signedIn } from "@/lib/access/session";
import { say } from "@/lib/messages/say";
import { childOf } from "@/lib/records/families";

export const generateMetadata = async (): Promise<Metadata> => ({ title: say("archive", await readerNow())("title") });

/** Whoever decides for a child takes with them all that is kept of it. */
export default async function Page({ params }: { readonly params: Promise<{ readonly childId: string }> }) {
  const actor = await signedIn();
  const { childId } = await params;
  const granted = await grant(actor, "export.read", childId);
  const { givenName: child } = await childOf(await grant(actor, "child.read", childId));
  return (
    <FamilyFrame current="account">
      <Heading level={1} lead={say("archive", actor.reader)("of", { child })}>{say("archive", actor.reader)("title")}</Heading>
      <ExportPart granted={granted} child={child} here={`/family/export/${childId}`} />
      <p><ButtonLink href="/family/account" kind="quiet">{say("care", actor.reader)("proof.back")}</ButtonLink></p>
    </FamilyFrame>
  );
}
