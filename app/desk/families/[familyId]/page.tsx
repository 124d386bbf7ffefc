import { addChildAction } from "@/app/desk/families/actions";
import { ChildLine } from "@/app/desk/families/child-line";
import { GuardiansPart } from "@/app/desk/people/guardians-part";
import { ActionForm } from "@/app/ui/action-form";
import { ButtonLink } from "@/app/ui/button";
import { Field } from "@/app/ui/field";
import { Heading } from "@/app/ui/heading";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { may } from "@/lib/domain/policy/policy";
import { say } from "@/lib/messages/say";
import { familyOf, sentByChild } from "@/lib/records/families";
import { practiceOf } from "@/lib/records/practice";
import { standings } from "@/lib/records/standing";

/** One family as the desk sees it. */
export default async function FamilyPage({ params }: { readonly params: Promise<{ readonly familyId: string }> }) {
  const t = say("desk");
  const actor = await signedIn();
  const { familyId } = await params;
  const practiceWide = await grant(actor, "families.read", null);
  const family = await familyOf(await grant(actor, "family.read", familyId));
  const now = Date.now();
  const { timeZone } = await practiceOf(await grant(actor, "practice.read", null), now);
  const [own, sent] = await Promise.all([standings(practiceWide, [familyId], now), sentByChild(practiceWide, family.children.map(({ childId }) => childId))]);
  return (
    <Stack gap="large">
      <Heading level={1}>{family.name}</Heading>
      <section>
        <Heading level={2}>{t("families.children")}</Heading>
        {own.length === 0 ? <p>{t("families.noChild")}</p> : (
          <RuledList label={t("families.children")}>
            {own.map((each) => (
              <RuledRow key={`${each.childId} ${each.exerciseKey}`}>
                <ChildLine standing={each} sent={sent.find((row) => row.childId === each.childId)} zone={timeZone} now={now} />
              </RuledRow>
            ))}
          </RuledList>
        )}
      </section>
      <GuardiansPart actor={actor} familyId={familyId} childrenHere={family.children} />
      <section>
        <Heading level={2}>{t("families.addChild")}</Heading>
        <ActionForm action={addChildAction} once={crypto.randomUUID()} familyId={familyId} label={t("families.addChild")}>
          <Field label={t("families.givenName")} name="givenName" required maxLength={80} autoComplete="off" />
          <Field label={t("families.bornIn")} name="bornIn" type="month" required pattern="(19|20)[0-9]{2}-(0[1-9]|1[0-2])" />
          <SubmitButton pending={t("families.adding")}>{t("families.addChild")}</SubmitButton>
        </ActionForm>
      </section>
      {may(actor.role, "family.erase") ? <p><ButtonLink href={`/desk/families/${familyId}/erase`} kind="quiet">{say("erasures")("family.link")}</ButtonLink></p> : null}
    </Stack>
  );
}
