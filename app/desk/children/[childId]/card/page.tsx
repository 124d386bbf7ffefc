import Link from "next/link";
import { renewSideCardAction } from "@/app/desk/children/[childId]/card/actions";
import { makeSideCardAction } from "@/app/family/card/[childId]/actions";
import { ActionForm } from "@/app/ui/action-form";
import { Heading } from "@/app/ui/heading";
import { SideCardSheet } from "@/app/ui/side-card-sheet";
import { SubmitButton } from "@/app/ui/submit-button";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { say } from "@/lib/messages/say";
import { childOf } from "@/lib/records/families";
import { sideCardOf } from "@/lib/records/side-cards";

/** The child's side card, to print and hand over; a lost one is replaced here. */
export default async function SideCardPage({ params }: { readonly params: Promise<{ readonly childId: string }> }) {
  const t = say("cards");
  const actor = await signedIn();
  const { childId } = await params;
  await grant(actor, "side-card.renew", childId);
  const card = await sideCardOf(await grant(actor, "side-card.print", childId));
  const { givenName: child } = await childOf(await grant(actor, "child.read", childId));
  return (
    <SideCardSheet number={card?.number ?? null} say={t} printWord={t("print")} after={card ? (
      <details>
        <summary>{t("lost")}</summary>
        <ActionForm action={renewSideCardAction} once={crypto.randomUUID()} childId={childId} label={t("lost")}>
          <p>{t("lostWhat", { child })}</p>
          <SubmitButton kind="quiet" pending={t("making")}>{t("renew")}</SubmitButton>
        </ActionForm>
      </details>
    ) : null}>
      <Link href={`/desk/children/${childId}`} prefetch={false}>{say("desk")("acts.toChild", { child })}</Link>
      <Heading level={1} lead={t("lead")}>{t("titleOf", { child })}</Heading>
      <p>{t("how")}</p>
      <p>{t("where", { child })}</p>
      {card ? null : (
        <ActionForm action={makeSideCardAction} once={crypto.randomUUID()} childId={childId} label={t("make")}>
          <p>{t("none", { child })}</p>
          <SubmitButton pending={t("making")}>{t("make")}</SubmitButton>
        </ActionForm>
      )}
    </SideCardSheet>
  );
}
