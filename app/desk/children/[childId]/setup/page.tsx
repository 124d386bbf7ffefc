import { confirmIndividualAction, confirmSetupAction } from "@/app/desk/children/[childId]/setup/actions";
import { IndividualFields } from "@/app/desk/children/[childId]/setup/individual-fields";
import { SetupPicture } from "@/app/desk/children/[childId]/setup/setup-picture";
import { drawingLabels, pickerWords } from "@/app/desk/children/[childId]/setup/words";
import { drawnCurves, patternWords, spineLabel } from "@/app/desk/families/words";
import { ActionForm } from "@/app/ui/action-form";
import { ButtonLink } from "@/app/ui/button";
import { Choice } from "@/app/ui/choice";
import { Field } from "@/app/ui/field";
import { Heading } from "@/app/ui/heading";
import { Caution, Notice } from "@/app/ui/notice";
import { SpineSchematic } from "@/app/ui/schematic/spine-schematic";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { SIDES } from "@/lib/domain/sides";
import { formatDate } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import { exercisesToSetUp } from "@/lib/records/child-exercises";
import { exerciseWords } from "@/lib/records/exercise-names";
import { childOf } from "@/lib/records/families";
import { practiceOf } from "@/lib/records/practice";
import { proposedSetup } from "@/lib/records/setups";
import { personName, standingOf } from "@/lib/records/standing";

/** What the rules propose for a child, to be confirmed or, where they do not reach, replaced by a therapist's own. */
export default async function SetupPage({ params }: { readonly params: Promise<{ readonly childId: string }> }) {
  const t = say("desk");
  const actor = await signedIn();
  const { childId } = await params;
  const confirming = await grant(actor, "setup.confirm", childId);
  const reading = await grant(actor, "child.read", childId);
  const now = Date.now();
  const { timeZone } = await practiceOf(await grant(actor, "practice.read", null), now);
  const child = await childOf(reading);
  return (
    <Stack gap="large">
      <Heading level={1} lead={t("setup.lead")}>{t("setup.title", { child: child.givenName })}</Heading>
      <Caution>{say("common")("caution")}</Caution>
      {await Promise.all((await exercisesToSetUp(confirming)).map(async (exerciseKey) => {
        const { record, exercise, resolution } = await proposedSetup(reading, exerciseKey);
        const { setup } = await standingOf(reading, exerciseKey, now);
        const names = exerciseWords(actor.practiceId, exerciseKey, exercise.version);
        const variation = resolution.coverage === "not-covered" ? null : names.variation(resolution.variation);
        const hidden = (
          <>
            <input type="hidden" name="exerciseKey" value={exerciseKey} />
            <input type="hidden" name="exerciseVersion" value={exercise.version} />
            <input type="hidden" name="recordId" value={record?.id ?? ""} />
          </>
        );
        return (
          <section key={exerciseKey}>
            <Stack>
              <Heading level={2}>{names.title}</Heading>
              {setup ? <Notice kind="info">{t("setup.current", { date: formatDate(setup.confirmedAt, timeZone), who: personName(actor.practiceId, setup.confirmedBy) ?? "" })}</Notice> : null}
              {setup && record && setup.curveRecordId !== record.id
                ? <Notice kind="caution">{t("setup.changed", { date: formatDate(record.recordedAt, timeZone) })}</Notice> : null}
              {setup && setup.exerciseVersion < exercise.version ? <Notice kind="caution">{say("exercises")("newer")}</Notice> : null}
              {names.cautions.map((caution) => <Caution key={caution}>{caution}</Caution>)}
              {record ? (
                <>
                  <p>{patternWords(record.record)}</p>
                  <SpineSchematic curves={drawnCurves(record.record)} label={spineLabel(patternWords(record.record))} />
                </>
              ) : (
                <>
                  <Notice kind="caution">{t("setup.noRecord")}</Notice>
                  <ButtonLink href={`/desk/children/${childId}/curve`}>{t("curve.title")}</ButtonLink>
                </>
              )}
              {record && resolution.coverage !== "not-covered" ? (
                <>
                  <Heading level={3}>{t("setup.proposal")}</Heading>
                  <p>{say("exercise")(`coverage.${resolution.coverage}`)}. {variation}</p>
                  <SetupPicture resolution={resolution} apexSpot={setup?.apexSpot ?? ""} />
                  <ActionForm action={confirmSetupAction} once={crypto.randomUUID()} childId={childId} label={t("setup.confirm")}>
                    {hidden}
                    <Field label={t("setup.apexSpot")} hint={t("setup.apexSpotHint")} name="apexSpot" defaultValue={setup?.apexSpot} required maxLength={300} />
                    <Choice legend={t("setup.chooseSide")} name="lieOn" required options={SIDES.map((side) => ({ value: side, label: t(`setup.sideIs.${side}`) }))} />
                    <SubmitButton pending={t("setup.working")}>{t("setup.confirm")}</SubmitButton>
                  </ActionForm>
                </>
              ) : null}
              {record && resolution.coverage === "not-covered" ? (
                <>
                  <Notice kind="caution" title={t("setup.notCovered")}>
                    {resolution.reasons.map((reason) => <p key={reason}>{say("exercise")(`coverage.${reason}`)}</p>)}
                  </Notice>
                  <Heading level={3} lead={t("setup.individualLead")}>{t("setup.individual")}</Heading>
                  <ActionForm action={confirmIndividualAction} once={crypto.randomUUID()} childId={childId} label={t("setup.individual")}>
                    {hidden}
                    <IndividualFields words={pickerWords()} labels={drawingLabels()}
                      items={exercise.items.map((item) => ({ key: item.key, title: names.itemTitle(item.key) }))} />
                    <SubmitButton pending={t("setup.working")}>{t("setup.confirm")}</SubmitButton>
                  </ActionForm>
                </>
              ) : null}
            </Stack>
          </section>
        );
      }))}
    </Stack>
  );
}
