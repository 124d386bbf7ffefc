import { endCareAction, inviteGuardianAction } from "@/app/desk/people/actions";
import { peopleProblems } from "@/app/desk/people/words";
import { ActionForm } from "@/app/ui/action-form";
import { CheckGroup, CheckRow, Choice } from "@/app/ui/choice";
import { Field } from "@/app/ui/field";
import { Heading } from "@/app/ui/heading";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { formatDateTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import type { ChildView } from "@/lib/records/families";
import { invitationsOf } from "@/lib/records/invitations";
import { guardiansOf } from "@/lib/records/people";

/** Who cares for whom in one family, who was invited, and the form to invite somebody. */
export async function GuardiansPart({ actor, familyId, childrenHere }: {
  readonly actor: Actor;
  readonly familyId: string;
  readonly childrenHere: readonly ChildView[];
}) {
  const t = say("auth");
  const guardians = await guardiansOf(await grant(actor, "family.read", familyId));
  const waiting = await invitationsOf(await grant(actor, "family.invite", familyId), Date.now());
  return (
    <section>
      <Heading level={2}>{t("people.guardians")}</Heading>
      <Stack>
        {guardians.length === 0 ? <p>{t("people.guardiansNone")}</p> : (
          <RuledList label={t("people.guardians")}>
            {guardians.map(({ personId, name, email, phone, relation, childIds, childNames }) => (
              <RuledRow key={personId}>
                <Stack gap="small">
                  <p><strong>{name}</strong> · {t("people.caresFor", { relation, children: childNames.join(", ") })}</p>
                  <p>{email}{phone ? <> · {t("people.phone", { phone })}</> : null}</p>
                  {childIds.map((childId, at) => (
                    <ActionForm key={childId} action={endCareAction} once={crypto.randomUUID()} familyId={familyId} problemWords={peopleProblems()}>
                      <input type="hidden" name="personId" value={personId} />
                      <input type="hidden" name="careOf" value={childId} />
                      <SubmitButton kind="quiet" pending={t("people.ending")}>{t("people.end", { name, child: childNames[at] ?? "" })}</SubmitButton>
                    </ActionForm>
                  ))}
                </Stack>
              </RuledRow>
            ))}
          </RuledList>
        )}
        {waiting.map(({ personId, name, address, expiresAt }) => (
          <div key={personId}>
            <p>{t("people.waiting", { name })}</p>
            <Field label={t("people.handOver", { until: formatDateTime(expiresAt, actor.timeZone) })} name="address" defaultValue={address} />
          </div>
        ))}
        {childrenHere.length > 0 ? (
          <>
            <Heading level={3}>{t("people.invite")}</Heading>
            <ActionForm action={inviteGuardianAction} once={crypto.randomUUID()} familyId={familyId} problemWords={peopleProblems()} label={t("people.invite")}>
              <Field label={t("people.name")} name="name" required maxLength={80} autoComplete="off" />
              <Field label={t("people.email")} name="email" type="email" inputMode="email" required maxLength={254} autoComplete="off" />
              <Field label={t("people.phoneField")} name="phone" hint={t("people.phoneHint")} type="tel" inputMode="tel" maxLength={40} autoComplete="off" />
              <CheckGroup legend={t("people.children")}>
                {childrenHere.map(({ childId, givenName }) => <CheckRow key={childId} label={givenName} name="childIds" value={childId} />)}
              </CheckGroup>
              <Choice legend={t("people.relation")} name="relation" required row
                options={(["guardian", "self"] as const).map((relation) => ({ value: relation, label: t("people.relationOption", { relation }) }))} />
              <SubmitButton pending={t("people.sending")}>{t("people.send")}</SubmitButton>
            </ActionForm>
          </>
        ) : null}
      </Stack>
    </section>
  );
}
