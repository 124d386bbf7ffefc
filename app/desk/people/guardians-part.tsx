import { inviteGuardianAction } from "@/app/desk/people/actions";
import { CarerRow } from "@/app/desk/people/carer-row";
import { ActionForm } from "@/app/ui/action-form";
import { CheckGroup, CheckRow, Choice } from "@/app/ui/choice";
import { Field } from "@/app/ui/field";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { DefinitionRows, RuledList, RuledRow } from "@/app/ui/ruled";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { reachedOn } from "@/lib/domain/policy/care";
import { formatDateTime, formatLocalDate } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import type { ChildView } from "@/lib/records/families";
import { carersIn } from "@/lib/records/family-carers";
import { invitationsOf } from "@/lib/records/invitations";
import { practiceOf } from "@/lib/records/practice";

/** Who cares for whom in one family, from when a child decides, who was invited, and the form to invite somebody. */
export async function GuardiansPart({ actor, familyId, childrenHere }: {
  readonly actor: Actor;
  readonly familyId: string;
  readonly childrenHere: readonly ChildView[];
}) {
  const t = say("auth");
  const now = Date.now();
  const guardians = await carersIn(await grant(actor, "family.read", familyId), now);
  const waiting = await invitationsOf(await grant(actor, "family.invite", familyId), now);
  const { ages } = await practiceOf(await grant(actor, "practice.read", null), now);
  return (
    <section>
      <Heading level={2}>{t("people.guardians")}</Heading>
      <Stack>
        {guardians.length === 0 ? <p>{t("people.guardiansNone")}</p> : (
          <RuledList label={t("people.guardians")}>
            {guardians.map((carer) => <RuledRow key={carer.personId}><CarerRow carer={carer} familyId={familyId} /></RuledRow>)}
          </RuledList>
        )}
        {guardians.length > 1 ? <Notice kind="info">{t("people.sharedRecord")}</Notice> : null}
        {childrenHere.length > 0 ? (
          <DefinitionRows rows={childrenHere.map(({ givenName, bornIn }) => ({
            term: givenName,
            value: t("people.ages.lines", { own: formatLocalDate(reachedOn(bornIn, ages.ownSignInAge)), adult: formatLocalDate(reachedOn(bornIn, ages.adultAge)) }),
          }))} />
        ) : null}
        {waiting.map(({ personId, name, address, expiresAt }) => (
          <div key={personId}>
            <p>{t("people.waiting", { name })}</p>
            <Field label={t("people.handOver", { until: formatDateTime(expiresAt, actor.timeZone) })} name="address" defaultValue={address} />
          </div>
        ))}
        {childrenHere.length > 0 ? (
          <>
            <Heading level={3}>{t("people.invite")}</Heading>
            <ActionForm action={inviteGuardianAction} once={crypto.randomUUID()} familyId={familyId} label={t("people.invite")}>
              <Field label={t("people.name")} name="name" required maxLength={80} autoComplete="off" />
              <Field label={t("people.email")} name="email" type="email" inputMode="email" required maxLength={254} autoComplete="off" />
              <Field label={t("people.phoneField")} name="phone" hint={t("people.phoneHint")} type="tel" inputMode="tel" maxLength={40} autoComplete="off" />
              <CheckGroup legend={t("people.children")}>
                {childrenHere.map(({ childId, givenName }) => <CheckRow key={childId} label={givenName} name="childIds" value={childId} />)}
              </CheckGroup>
              <Choice legend={t("people.relation")} name="relation" required row
                options={(["guardian", "self"] as const).map((relation) => ({ value: relation, label: t("people.relationOption", { relation }) }))} />
              <CheckRow name="isKnownMeant" label={t("people.knownMeant")} hint={t("people.knownMeantHint")} />
              <SubmitButton pending={t("people.sending")}>{t("people.send")}</SubmitButton>
            </ActionForm>
          </>
        ) : null}
      </Stack>
    </section>
  );
}
