import { agreeAction } from "@/app/family/account/actions";
import { ActionForm } from "@/app/ui/action-form";
import { Heading } from "@/app/ui/heading";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { say } from "@/lib/messages/say";
import type { OwnChild } from "@/lib/records/families";
import { fellowCarers, type FellowCarer } from "@/lib/records/family-carers";

/** For who acts for themself: who else sees it, by name; an adult says who may. */
export async function Fellows({ actor, self }: { readonly actor: Actor; readonly self: OwnChild }) {
  const t = say("care", actor.reader);
  const fellows = await fellowCarers(await grant(actor, "read-back.answer", self.childId), Date.now());
  const isAdult = self.reach === "decide";
  const statusOf = ({ agreement, name }: FellowCarer): string => {
    if (!isAdult || agreement === "agreed") return t("fellows.sees", { name });
    return t(agreement === "represents" ? "fellows.byLaw" : "fellows.seesNot", { name });
  };
  return (
    <section>
      <Heading level={2} lead={t(fellows.length > 0 ? "fellows.lead" : "fellows.none")}>{t("fellows.title")}</Heading>
      {fellows.length > 0 ? (
        <RuledList label={t("fellows.title")}>
          {fellows.map((fellow) => (
            <RuledRow key={fellow.personId}>
              <Stack gap="small">
                <p>{statusOf(fellow)}</p>
                {isAdult && fellow.agreement !== "represents" ? <AgreeForm fellow={fellow} childId={self.childId} actor={actor} /> : null}
              </Stack>
            </RuledRow>
          ))}
        </RuledList>
      ) : null}
    </section>
  );
}

function AgreeForm({ fellow: { personId, name, agreement }, childId, actor }: { readonly fellow: FellowCarer; readonly childId: string; readonly actor: Actor }) {
  const t = say("care", actor.reader);
  const isAgreed = agreement === "agreed";
  return (
    <ActionForm action={agreeAction} once={crypto.randomUUID()} childId={childId}>
      <input type="hidden" name="guardianId" value={personId} />
      <input type="hidden" name="decision" value={isAgreed ? "ended" : "agreed"} />
      <SubmitButton kind="quiet" pending={t("fellows.working")}>{t(isAgreed ? "fellows.end" : "fellows.agree", { name })}</SubmitButton>
    </ActionForm>
  );
}
