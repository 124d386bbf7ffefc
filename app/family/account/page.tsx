import type { Metadata } from "next";
import Link from "next/link";
import { SignOutForm } from "@/app/(open)/sign-out-form";
import { DeviceList } from "@/app/devices/device-list";
import { Fellows } from "@/app/family/account/fellows";
import { FamilyFrame } from "@/app/family/frame";
import { HomeScreen } from "@/app/family/phone/home-screen";
import { chooseLanguageAction } from "@/app/language/actions";
import { LanguageChoice } from "@/app/language/language-choice";
import { KeptChoice } from "@/app/family/kept/kept-choice";
import { choiceWords } from "@/app/family/kept/words";
import { Heading } from "@/app/ui/heading";
import { DefinitionRows, RuledList, RuledRow } from "@/app/ui/ruled";
import { readerNow, signedIn } from "@/lib/access/session";
import { say } from "@/lib/messages/say";
import { childrenOf } from "@/lib/records/families";

export const generateMetadata = async (): Promise<Metadata> => ({ title: say("family", await readerNow())("account.title") });

/** Who is signed in, what was agreed to for each child, and the way out. */
export default async function Page() {
  const actor = await signedIn();
  const [family, archive] = [say("family", actor.reader), say("archive", actor.reader)];
  const own = await childrenOf(actor);
  const isSelf = actor.role === "young-person";
  const things = isSelf && !own.some(({ reach }) => reach === "decide") ? say("care", actor.reader)("things") : family("account.consents");
  return (
    <FamilyFrame current="account">
      <Heading level={1}>{family("account.title")}</Heading>
      <DefinitionRows rows={[{ term: family("account.name"), value: actor.name }]} />
      <Heading level={2}>{things}</Heading>
      <RuledList label={things}>
        {own.map(({ childId, givenName: name, reach }) => (
          <RuledRow key={childId}>{reach === "decide" ? <><Link href={`/family/consent/${childId}`} prefetch={false}>{family("account.consentOf", { child: name })}</Link> · <Link href={`/family/erase/${childId}`} prefetch={false}>{say("erasing", actor.reader)("link", { child: name })}</Link> · </> : null}<Link href={`/family/card/${childId}`} prefetch={false}>{say("cards", actor.reader)("toCardOf", { child: name })}</Link> · <Link href={`/family/hand/${childId}`} prefetch={false}>{say("care", actor.reader)("hand.change", { child: name })}</Link></RuledRow>
        ))}
      </RuledList>
      {own.some(({ reach }) => reach === "decide") ? (
        <>
          <Heading level={2}>{archive("title")}</Heading>
          <RuledList label={archive("title")}>
            {own.filter(({ reach }) => reach === "decide").map(({ childId, givenName: child }) => (
              <RuledRow key={childId}><Link href={`/family/export/${childId}`} prefetch={false}>{archive("link", { child })}</Link></RuledRow>
            ))}
          </RuledList>
        </>
      ) : null}
      {isSelf ? own.map((self) => <Fellows key={self.childId} actor={actor} self={self} />) : null}
      <p><Link href="/family/account/address" prefetch={false}>{say("address", actor.reader)("title")}</Link></p>
      <p><Link href="/family/account/mail" prefetch={false}>{say("notices", actor.reader)("choices.link")}</Link></p>
      <Heading level={2}>{say("common", actor.reader)("language")}</Heading>
      <LanguageChoice action={chooseLanguageAction} reader={actor.reader} />
      <DeviceList actor={actor} />
      <HomeScreen reader={actor.reader} />
      <KeptChoice personId={actor.personId} words={choiceWords(actor.reader)} />
      <SignOutForm reader={actor.reader} personId={actor.personId} />
    </FamilyFrame>
  );
}
