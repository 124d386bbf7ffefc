import type { Metadata } from "next";
import { notFound } from "next/navigation";
import { patternName } from "@/app/desk/queue-words";
import { AskPart } from "@/app/desk/sessions/[sessionId]/ask-part";
import { ChildrenPart } from "@/app/desk/sessions/[sessionId]/children-part";
import { ClosePart } from "@/app/desk/sessions/[sessionId]/close-part";
import { InvitationPart } from "@/app/desk/sessions/[sessionId]/invitation-part";
import { AddPart, PlacesPart } from "@/app/desk/sessions/[sessionId]/places-part";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { DefinitionRows } from "@/app/ui/ruled";
import { Columns, Stack } from "@/app/ui/stack";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { formatDate, formatDateTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import { exerciseWords } from "@/lib/records/exercise-names";
import { sessionOf } from "@/lib/records/group-sessions";
import { practiceOf } from "@/lib/records/practice";
import { sessionInvitationOf } from "@/lib/records/session-invitations";
import { mayBeTakenIn } from "@/lib/records/session-fit";
import { childrenIn, reminderState } from "@/lib/records/session-photos";

export const metadata: Metadata = { title: say("sessions")("title") };

/** One group session: who asks to come, who is in, what became of the photos, and how it ends. */
export default async function SessionPage({ params, searchParams }: { readonly params: Promise<{ readonly sessionId: string }>; readonly searchParams: Promise<{ readonly find?: string | string[] }> }) {
  const t = say("sessions");
  const actor = await signedIn();
  const reading = await grant(actor, "sessions.read", null);
  const now = Date.now();
  const session = await sessionOf(reading, (await params).sessionId, now);
  if (!session) notFound();
  const { timeZone: zone } = await practiceOf(await grant(actor, "practice.read", null), now);
  const { find } = await searchParams;
  const sought = typeof find === "string" ? find.trim().slice(0, 80) : "";
  const rows = await childrenIn(reading, session, now);
  const [invitation, mayCome, reminder] = await Promise.all([
    sessionInvitationOf(reading, session.sessionId, now), mayBeTakenIn(await grant(actor, "families.read", null), session, rows, now, sought), reminderState(reading, rows, now),
  ]);
  const takenIn = rows.filter((row) => row.decision === "taken-in");
  const { sessionId, pattern, startsAt, howToJoin, closedAt } = session;
  return (
    <Stack gap="large">
      <Heading level={1} lead={t(`stages.${session.stage}`)}>{t("of", { when: formatDateTime(startsAt, zone) })}</Heading>
      <DefinitionRows rows={[
        { term: t("when"), value: `${formatDate(startsAt, zone)}, ${formatDateTime(startsAt, zone).split(", ")[1]} (${zone})` },
        { term: t("exercise"), value: exerciseWords(actor.practiceId, session.exerciseKey, null).title },
        { term: t("pattern"), value: pattern ? patternName(pattern) : t("patternGone") },
        { term: t("howToJoin"), value: howToJoin || t("howToJoinNone") },
      ]} />
      {closedAt === null ? null : <Notice kind="info">{t("close.closedOn", { date: formatDate(closedAt, zone) })}</Notice>}
      {closedAt === null && (invitation || rows.length > takenIn.length) ? <PlacesPart sessionId={sessionId} rows={rows} zone={zone} /> : null}
      <ChildrenPart sessionId={sessionId} rows={takenIn} zone={zone} isClosed={closedAt !== null} />
      {closedAt !== null ? <ClosePart session={session} zone={zone} /> : (
        <Columns>
          <Stack gap="large">
            {takenIn.length > 0 ? <AskPart session={session} rows={takenIn} reminder={reminder} zone={zone} now={now} /> : null}
            <AddPart sessionId={sessionId} mayCome={mayCome} sought={sought} />
          </Stack>
          <Stack gap="large">
            <InvitationPart sessionId={sessionId} invitation={invitation} zone={zone} />
            <ClosePart session={session} zone={zone} />
          </Stack>
        </Columns>
      )}
    </Stack>
  );
}
