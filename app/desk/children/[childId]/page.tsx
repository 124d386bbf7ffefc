import { writesWithAtDeskAction } from "@/app/desk/children/[childId]/actions";
import { LedgerPart } from "@/app/desk/children/[childId]/ledger-part";
import { PhaseRows } from "@/app/desk/children/[childId]/phase-rows";
import { QuestionsPart } from "@/app/desk/children/[childId]/questions-part";
import { RecordPart } from "@/app/desk/children/[childId]/record-part";
import { SetsPart } from "@/app/desk/children/[childId]/sets-part";
import { SetupPicture } from "@/app/desk/children/[childId]/setup/setup-picture";
import { UnreadStops } from "@/app/desk/unread-stops";
import { PracticeDays } from "@/app/practice-days";
import { WritesWithForm } from "@/app/writes-with-form";
import { ButtonLink } from "@/app/ui/button";
import { GoAheadSign } from "@/app/ui/go-ahead-sign";
import { Heading } from "@/app/ui/heading";
import { Caution, Notice } from "@/app/ui/notice";
import { DefinitionRows } from "@/app/ui/ruled";
import { Row, Stack } from "@/app/ui/stack";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { may } from "@/lib/domain/policy/policy";
import { formatDate } from "@/lib/domain/time/format";
import { DESK } from "@/lib/domain/words/reader";
import { say } from "@/lib/messages/say";
import { curveRecordsOf } from "@/lib/records/curve-records";
import { carersOf, childOf } from "@/lib/records/families";
import { practiceOf } from "@/lib/records/practice";
import { practiceDaysOf } from "@/lib/records/practice-days";
import { personName, standingsOf, type Standing } from "@/lib/records/standing";
import { unreadStopsOf } from "@/lib/records/unread-stops";
import { writesWithOf } from "@/lib/records/writes-with";

/** Everything the desk knows about one child, the go-ahead first. */
export default async function ChildPage({ params }: { readonly params: Promise<{ readonly childId: string }> }) {
  const t = say("desk");
  const actor = await signedIn();
  const { childId } = await params;
  const desk = await grant(actor, "curve-record.write", childId);
  const reading = await grant(actor, "child.read", childId);
  const now = Date.now();
  const { timeZone: zone } = await practiceOf(await grant(actor, "practice.read", null), now);
  const [child, standings, records, carers] = await Promise.all([childOf(reading), standingsOf(reading, now), curveRecordsOf(reading), carersOf(desk, now)]);
  const hand = await writesWithOf(reading);
  const unread = await unreadStopsOf(await grant(actor, "stop.remind", childId), now);
  const base = `/desk/children/${childId}`;
  return (
    <Stack gap="large">
      <Heading level={1} lead={t("families.child.of", { family: child.familyName, born: child.bornIn })}>{child.givenName}</Heading>
      <Caution>{say("common")("caution")}</Caution>
      <Row>
        <ButtonLink href={`${base}/stop`} kind="stop">{t("families.child.stop")}</ButtonLink>
        <ButtonLink href={`${base}/progress`} kind="quiet">{say("progress")("link")}</ButtonLink>
        <ButtonLink href={`${base}/seen-live`} kind="quiet">{t("families.child.seenLive")}</ButtonLink>
        <ButtonLink href={`${base}/clearance`} kind="quiet">{t("families.child.clearance")}</ButtonLink>
        <ButtonLink href={`${base}/card`} kind="quiet">{say("cards")("toCard")}</ButtonLink>
        {may(actor.role, "export.read") ? <ButtonLink href={`${base}/export`} kind="quiet">{say("archive")("toDesk")}</ButtonLink> : null}
      </Row>
      {unread.stops.length > 0 ? (
        <section>
          <Heading level={2} lead={say("stops")("lead")}>{say("stops")("title")}</Heading>
          <UnreadStops row={unread} from="child" />
        </section>
      ) : null}
      {await Promise.all(standings.map(async (standing) => (
        <section key={standing.exerciseKey}>
          <Stack>
            <Heading level={2}>{standing.names.title}</Heading>
            {standing.photoConsent === "withdrawn" ? <Notice kind="caution">{t("families.child.photosOff")}</Notice> : null}
            {standing.photoConsent === "never" ? <Notice kind="info">{t("families.child.consentNever")}</Notice> : null}
            <GoAheadSign state={standing.overall} word={t(`families.state.${standing.overall}`)} />
            <PhaseRows standing={standing} practiceId={actor.practiceId} zone={zone} />
            <Heading level={2}>{t("families.child.setup")}</Heading>
            <SetupPart standing={standing} practiceId={actor.practiceId} zone={zone} />
            <Heading level={2}>{t("families.child.ledger")}</Heading>
            <LedgerPart standing={standing} zone={zone} />
            <Heading level={2}>{t("families.child.sets")}</Heading>
            <SetsPart reading={reading} exerciseKey={standing.exerciseKey} zone={zone} now={now} />
            <Heading level={2}>{say("days")("title")}</Heading>
            <PracticeDays days={await practiceDaysOf(reading, standing.exerciseKey)} exercise={standing.names.title} zone={zone} now={now} reader={DESK} />
            <ButtonLink href={`${base}/then-and-now?exercise=${standing.exerciseKey}`} kind="quiet">{say("pairs")("title")}</ButtonLink>
          </Stack>
        </section>
      )))}
      <section>
        <Heading level={2}>{say("questions")("childTitle")}</Heading>
        <QuestionsPart granted={await grant(actor, "question.reply", childId)} zone={zone} />
      </section>
      <section>
        <Heading level={2}>{t("families.child.record")}</Heading>
        <RecordPart childId={childId} records={records} zone={zone} now={now} />
      </section>
      <section>
        <Heading level={2} lead={hand.hand ? say("care")("hand.is", { child: child.givenName, hand: hand.hand }) : say("care")("hand.isNot", { child: child.givenName })}>{t("families.child.hand")}</Heading>
        <WritesWithForm action={writesWithAtDeskAction} childId={childId} child={child.givenName} said={hand} reader={actor.reader} />
      </section>
      <section>
        <Heading level={2}>{t("families.child.call")}</Heading>
        {carers.length === 0 ? <p>{t("families.noCarers")}</p> : (
          <DefinitionRows rows={carers.map((carer) => ({ term: `${carer.name}, ${carer.relation}`, value: carer.phone ?? t("families.child.noPhone") }))} />
        )}
      </section>
      {may(actor.role, "erasure.settle") ? <p><ButtonLink href={`${base}/erase`} kind="quiet">{say("erasures")("child.link")}</ButtonLink></p> : null}
    </Stack>
  );
}

function SetupPart({ standing: { setup, record, childId }, practiceId, zone }: { readonly standing: Standing; readonly practiceId: string; readonly zone: string }) {
  const t = say("desk");
  const link = <ButtonLink href={`/desk/children/${childId}/setup`} kind="quiet">{setup ? t("families.child.setupAgain") : t("families.child.setupPage")}</ButtonLink>;
  if (!setup) return <Stack><p>{t("families.noSetup")}</p>{link}</Stack>;
  return (
    <Stack>
      {setup.curveRecordId === record?.id ? null : <Notice kind="caution">{t("families.child.changed")}</Notice>}
      {setup.kind === "individual" ? (
        <Notice kind="info" title={t("families.individual")}>{`${t("families.child.individualReason")}: ${setup.reason}`}</Notice>
      ) : null}
      <SetupPicture resolution={setup.resolution} apexSpot={setup.apexSpot} />
      <p>{t("families.child.confirmedBy", { date: formatDate(setup.confirmedAt, zone), who: personName(practiceId, setup.confirmedBy) ?? t("families.system") })}</p>
      {link}
    </Stack>
  );
}
