import type { Metadata } from "next";
import Link from "next/link";
import { patternName } from "@/app/desk/queue-words";
import { createSessionAction } from "@/app/desk/sessions/actions";
import { WhenFields } from "@/app/desk/sessions/when-fields";
import { ActionForm } from "@/app/ui/action-form";
import { EmptyState } from "@/app/ui/empty-state";
import { SelectField } from "@/app/ui/field";
import { Heading } from "@/app/ui/heading";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { SESSION_STAGES } from "@/lib/domain/sessions/group-session";
import { formatDateTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import { exerciseWords } from "@/lib/records/exercise-names";
import { sessionsOf, teachable, type ListedSession } from "@/lib/records/group-sessions";
import { practiceOf } from "@/lib/records/practice";

export const metadata: Metadata = { title: say("sessions")("title") };

/** Every group session by its stage, those to come with the nearest first, and the form to plan one. */
export default async function SessionsPage() {
  const t = say("sessions");
  const actor = await signedIn();
  const reading = await grant(actor, "sessions.read", null);
  const now = Date.now();
  const { timeZone: zone } = await practiceOf(await grant(actor, "practice.read", null), now);
  const [all, taught] = await Promise.all([sessionsOf(reading, now), teachable(reading)]);
  const titleOf = (key: string) => exerciseWords(actor.practiceId, key, null).title;
  const shown = SESSION_STAGES.map((stage) => ({ stage, sessions: inOrder(all.filter((each) => each.stage === stage), stage) }))
    .filter(({ stage, sessions }) => sessions.length > 0 || stage === "upcoming" || stage === "open");
  return (
    <Stack gap="large">
      <Heading level={1} lead={t("lead")}>{t("title")}</Heading>
      {all.length === 0 ? <EmptyState title={t("empty")}><p>{t("emptyWhat")}</p></EmptyState> : shown.map(({ stage, sessions }) => (
        <section key={stage} aria-labelledby={stage}>
          <Heading level={2} id={stage}>{t(`stages.${stage}`)}</Heading>
          {sessions.length === 0 ? <p>{t(`none.${stage}`)}</p> : (
            <RuledList label={t(`stages.${stage}`)}>
              {sessions.map((each) => <RuledRow key={each.sessionId}><One session={each} title={titleOf(each.exerciseKey)} zone={zone} /></RuledRow>)}
            </RuledList>
          )}
        </section>
      ))}
      <section>
        <Heading level={2}>{t("plan")}</Heading>
        <ActionForm action={createSessionAction} once={crypto.randomUUID()} label={t("plan")} problemWords={{ "words-side-disagree": t("sideWords") }}>
          <SelectField label={t("taught")} name="taught" hint={t("taughtHint")} required
            options={[{ value: "", label: t("taughtChoose") }, ...taught.map(({ exerciseKey, pattern }) => ({ value: `${exerciseKey} ${pattern.key}`, label: `${titleOf(exerciseKey)}: ${patternName(pattern)}` }))]} />
          <WhenFields zone={zone} />
          <SubmitButton pending={t("planning")}>{t("plan")}</SubmitButton>
        </ActionForm>
      </section>
    </Stack>
  );
}

/** What is to come stands in the order in which it comes, the rest the newest first. */
const inOrder = (sessions: readonly ListedSession[], stage: ListedSession["stage"]): readonly ListedSession[] => (stage === "upcoming" ? sessions.toReversed() : sessions);

function One({ session, title, zone }: { readonly session: ListedSession; readonly title: string; readonly zone: string }) {
  const t = say("sessions");
  const { sessionId, startsAt, pattern, takenIn, waiting } = session;
  return (
    <Stack gap="small">
      <Link href={`/desk/sessions/${sessionId}`} prefetch={false}><strong>{formatDateTime(startsAt, zone)}</strong></Link>
      <p>{pattern ? `${title}: ${patternName(pattern)}` : title}</p>
      <p>{t("counts", { takenIn, waiting })}</p>
    </Stack>
  );
}
