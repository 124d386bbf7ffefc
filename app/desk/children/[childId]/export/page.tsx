import type { Metadata } from "next";
import Link from "next/link";
import { ExportPart } from "@/app/exports/export-part";
import { Heading } from "@/app/ui/heading";
import { Stack } from "@/app/ui/stack";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { say } from "@/lib/messages/say";
import { childOf } from "@/lib/records/families";

export const metadata: Metadata = { title: say("archive")("toDesk") };

/** The lead takes one child's record out for the clinical record. */
export default async function Page({ params }: { readonly params: Promise<{ readonly childId: string }> }) {
  const actor = await signedIn();
  const { childId } = await params;
  const granted = await grant(actor, "export.read", childId);
  const { givenName: child } = await childOf(await grant(actor, "child.read", childId));
  return (
    <Stack gap="large">
      <Link href={`/desk/children/${childId}`} prefetch={false}>{say("desk")("acts.toChild", { child })}</Link>
      <Heading level={1} lead={say("archive")("of", { child })}>{say("archive")("toDesk")}</Heading>
      <ExportPart granted={granted} child={child} here={`/desk/children/${childId}/export`} />
    </Stack>
  );
}
