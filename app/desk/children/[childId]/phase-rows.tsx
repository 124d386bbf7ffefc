import { closePhaseAction, openPhaseAction } from "@/app/desk/children/[childId]/actions";
import { reasonWords, type ReasonWords } from "@/app/desk/families/words";
import { ActionForm } from "@/app/ui/action-form";
import { GoAheadSign } from "@/app/ui/go-ahead-sign";
import { Heading } from "@/app/ui/heading";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { say } from "@/lib/messages/say";
import type { Standing } from "@/lib/records/standing";

/** The go-ahead of each phase with every reason, its date and who decided, and the opening of phases. */
export function PhaseRows({ standing, practiceId, zone }: { readonly standing: Standing; readonly practiceId: string; readonly zone: string }) {
  const t = say("desk");
  const hasSetup = standing.setup !== null && standing.setup.curveRecordId === standing.record?.id;
  return (
    <Stack>
      {standing.phases.map(({ phase, isOpen, goAhead }, at) => {
        const isNext = hasSetup && standing.phases.slice(0, at).every((earlier) => earlier.isOpen);
        return (
          <section key={phase}>
            <Heading level={3}>{`${say("exercise")(`phases.${phase}`)}: ${isOpen ? t("families.child.opened") : t("families.child.notOpened")}`}</Heading>
            <GoAheadSign state={goAhead.state} word={t(`families.state.${goAhead.state}`)} size="compact" />
            <Reasons reasons={reasonWords(goAhead, standing.names, practiceId, zone)} />
            {isOpen || isNext ? (
              <ActionForm action={isOpen ? closePhaseAction : openPhaseAction} once={crypto.randomUUID()} childId={standing.childId}>
                <input type="hidden" name="exerciseKey" value={standing.exerciseKey} />
                <input type="hidden" name="phase" value={phase} />
                <SubmitButton kind="quiet" pending={t("families.child.working")}>{isOpen ? t("families.child.close") : t("families.child.open")}</SubmitButton>
              </ActionForm>
            ) : null}
          </section>
        );
      })}
    </Stack>
  );
}

/** What decides stands open; what would matter after it is folded. */
function Reasons({ reasons }: { readonly reasons: readonly ReasonWords[] }) {
  const weaker = reasons.filter((reason) => !reason.decides);
  const rows = (some: readonly ReasonWords[]) => (
    <RuledList>{some.map((reason) => <RuledRow key={reason.key}>{reason.text} ({reason.decided})</RuledRow>)}</RuledList>
  );
  return (
    <>
      {rows(reasons.filter((reason) => reason.decides))}
      {weaker.length > 0 ? <details><summary>{say("desk")("families.alsoReasons")}</summary>{rows(weaker)}</details> : null}
    </>
  );
}
