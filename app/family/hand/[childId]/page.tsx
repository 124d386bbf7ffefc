import type { Metadata } from "next";
import { writesWithAction } from "@/app/family/hand/[childId]/actions";
import { FamilyFrame } from "@/app/family/frame";
import { Heading } from "@/app/ui/heading";
import { WritesWithForm } from "@/app/writes-with-form";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { say } from "@/lib/messages/say";
import { childOf } from "@/lib/records/families";
import { writesWithOf } from "@/lib/records/writes-with";

export const metadata: Metadata = { title: "Trueside" };

/** The hand one child writes with, said or changed. */
export default async function HandPage({ params }: { readonly params: Promise<{ readonly childId: string }> }) {
  const actor = await signedIn();
  const { childId } = await params;
  const granted = await grant(actor, "child.read", childId);
  // The desk has its own page of the child.
  await grant(actor, "practice-day.mark", childId);
  const { givenName: child } = await childOf(granted);
  return (
    <FamilyFrame current="account">
      <Heading level={1}>{say("care", actor.reader)("hand.change", { child })}</Heading>
      <WritesWithForm action={writesWithAction} childId={childId} child={child} said={await writesWithOf(granted)} reader={actor.reader} />
    </FamilyFrame>
  );
}
