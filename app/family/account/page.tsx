import type { Metadata } from "next";
import Link from "next/link";
import { FamilyFrame } from "@/app/family/frame";
import { Button } from "@/app/ui/button";
import { Heading } from "@/app/ui/heading";
import { DefinitionRows, RuledList, RuledRow } from "@/app/ui/ruled";
import { signedIn } from "@/lib/access/session";
import { say } from "@/lib/messages/say";
import { childrenOf } from "@/lib/records/families";

const family = say("family");
export const metadata: Metadata = { title: family("account.title") };

/** Who is signed in, what was agreed to for each child, and the way out. */
export default async function Page() {
  const actor = await signedIn();
  return (
    <FamilyFrame current="account">
      <Heading level={1}>{family("account.title")}</Heading>
      <DefinitionRows rows={[{ term: family("account.name"), value: actor.name }]} />
      <Heading level={2}>{family("account.consents")}</Heading>
      <RuledList label={family("account.consents")}>
        {(await childrenOf(actor)).map(({ childId, givenName: name }) => (
          <RuledRow key={childId}><Link href={`/family/consent/${childId}`} prefetch={false}>{family("account.consentOf", { child: name })}</Link></RuledRow>
        ))}
      </RuledList>
      <form method="post" action="/sign-out">
        <Button type="submit" kind="quiet">{family("account.signOut")}</Button>
      </form>
    </FamilyFrame>
  );
}
