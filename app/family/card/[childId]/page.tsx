import type { Metadata } from "next";
import { makeSideCardAction } from "@/app/family/card/[childId]/actions";
import { FamilyFrame } from "@/app/family/frame";
import { ActionForm } from "@/app/ui/action-form";
import { Heading } from "@/app/ui/heading";
import { SideCardSheet } from "@/app/ui/side-card-sheet";
import { SubmitButton } from "@/app/ui/submit-button";
import { grant } from "@/lib/access/grant";
import { readerNow, signedIn } from "@/lib/access/session";
import { say } from "@/lib/messages/say";
import { childOf } from "@/lib/records/families";
import { sideCardOf } from "@/lib/records/side-cards";

export const generateMetadata = async (): Promise<Metadata> => ({ title: say("cards", await readerNow())("title") });

/** The child's side card, to print at home. */
export default async function Page({ params }: { readonly params: Promise<{ readonly childId: string }> }) {
  const actor = await signedIn();
  const cards = say("cards", actor.reader);
  const { childId } = await params;
  const card = await sideCardOf(await grant(actor, "side-card.print", childId));
  const { givenName: child } = await childOf(await grant(actor, "child.read", childId));
  return (
    <FamilyFrame current="account">
      <SideCardSheet number={card?.number ?? null} say={cards} printWord={cards("print")}>
        <Heading level={1} lead={cards("lead")}>{cards("titleOf", { child })}</Heading>
        <p>{cards("how")}</p>
        <p>{cards("where", { child })}</p>
        {card ? null : (
          <ActionForm action={makeSideCardAction} once={crypto.randomUUID()} childId={childId} label={cards("make")}>
            <p>{cards("none", { child })}</p>
            <SubmitButton pending={cards("making")}>{cards("make")}</SubmitButton>
          </ActionForm>
        )}
      </SideCardSheet>
    </FamilyFrame>
  );
}
