import Link from "next/link";
import { seenLiveAction } from "@/app/desk/children/[childId]/seen-live/actions";
import { ChecklistRows } from "@/app/desk/children/[childId]/sets/[photoSetId]/checklist-rows";
import { ActionForm } from "@/app/ui/action-form";
import { ButtonLink } from "@/app/ui/button";
import { CheckRow, Choice } from "@/app/ui/choice";
import { EmptyState } from "@/app/ui/empty-state";
import { Field, TextArea } from "@/app/ui/field";
import { Heading } from "@/app/ui/heading";
import { Caution } from "@/app/ui/notice";
import { SideWord } from "@/app/ui/side-word";
import { Columns, Row, Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { PHASES } from "@/lib/domain/setup/vocabulary";
import { localDate } from "@/lib/domain/time/local";
import { say } from "@/lib/messages/say";
import { exercisesOf } from "@/lib/records/child-exercises";
import { exerciseWords } from "@/lib/records/exercise-names";
import { childOf } from "@/lib/records/families";
import { practiceOf } from "@/lib/records/practice";
import { liveChecklist } from "@/lib/records/seen-live";

type Props = { readonly params: Promise<{ readonly childId: string }>; readonly searchParams: Promise<{ readonly phase?: string }> };

/** Verdicts from a visit or a call, judged by the set-up in force. */
export default async function SeenLivePage({ params, searchParams }: Props) {
  const t = say("desk");
  const exercise = say("exercise");
  const actor = await signedIn();
  const { childId } = await params;
  const wanted = (await searchParams).phase;
  const phase = PHASES.find((each) => each === wanted) ?? "position";
  const granted = await grant(actor, "seen-live.record", childId);
  const reading = await grant(actor, "child.read", childId);
  const child = await childOf(reading);
  const now = Date.now();
  const { timeZone: zone } = await practiceOf(await grant(actor, "practice.read", null), now);
  return (
    <Stack gap="large">
      <Link href={`/desk/children/${childId}`} prefetch={false}>{t("acts.toChild", { child: child.givenName })}</Link>
      <Heading level={1} lead={t("acts.liveLead")}>{`${t("acts.liveTitle")}: ${child.givenName}`}</Heading>
      {(await exercisesOf(reading)).map((key) => {
        const current = liveChecklist(granted, key, phase);
        if (!current.ok) return <EmptyState key={key} title={t("acts.liveNone")} />;
        const { setup, rows } = current.value;
        const names = exerciseWords(actor.practiceId, key, setup.exerciseVersion);
        return (
          <section key={key}>
            <Stack>
              <Heading level={2}>{names.title}</Heading>
              <p>{t("answering.setup")} <SideWord>{say("common")("side", { side: setup.resolution.setup.lieOn })}</SideWord></p>
              <p>{t("acts.phase")}</p>
              <Row>
                {setup.resolution.phases.map((each) => (
                  <ButtonLink key={each} kind={each === phase ? "primary" : "quiet"} href={`/desk/children/${childId}/seen-live?phase=${each}`}>{exercise(`phases.${each}`)}</ButtonLink>
                ))}
              </Row>
              <ActionForm action={seenLiveAction} once={crypto.randomUUID()} childId={childId} label={t("acts.liveTitle")}>
                <input type="hidden" name="exerciseKey" value={key} />
                <input type="hidden" name="phase" value={phase} />
                <Columns>
                  <Choice legend={t("acts.how")} name="how" required options={[{ value: "visit", label: t("acts.visit") }, { value: "call", label: t("acts.call") }]} />
                  <Stack>
                    <Field label={t("acts.day")} name="day" type="date" required max={localDate(now, zone)} />
                    <Field label={t("acts.time")} name="time" type="time" />
                  </Stack>
                </Columns>
                <ChecklistRows actor={actor} exerciseKey={key} rows={rows} ledger={[]} names={names} setup={setup.resolution.setup} fields={{}} />
                <TextArea label={t("acts.note")} name="note" maxLength={1000} />
                <TextArea label={t("answering.sideReason")} name="sideReason" rows={2} maxLength={500} />
                <CheckRow label={t("answering.wordsConfirmed")} name="wordsConfirmed" />
                <Caution>{t("answering.caution")}</Caution>
                <SubmitButton pending={t("acts.working")}>{t("acts.save")}</SubmitButton>
              </ActionForm>
            </Stack>
          </section>
        );
      })}
    </Stack>
  );
}
