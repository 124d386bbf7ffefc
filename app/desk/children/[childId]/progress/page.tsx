import Link from "next/link";
import { ExercisePart } from "@/app/desk/children/[childId]/progress/exercise-part";
import { RecordFacts } from "@/app/desk/children/[childId]/progress/record-facts";
import { Heading } from "@/app/ui/heading";
import { Caution } from "@/app/ui/notice";
import { PrintThis } from "@/app/ui/print-this";
import { Stack } from "@/app/ui/stack";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { localDate } from "@/lib/domain/time/local";
import { say } from "@/lib/messages/say";
import { childOf } from "@/lib/records/families";
import { practiceOf } from "@/lib/records/practice";
import { practiceDaysOf } from "@/lib/records/practice-days";
import { progressOf } from "@/lib/records/progress";

/** How one child's exercises went so far: what settled, what is worked on, what slipped. It praises and ranks nobody. */
export default async function ProgressPage({ params, searchParams }: {
  readonly params: Promise<{ readonly childId: string }>;
  readonly searchParams: Promise<{ readonly all?: string | string[] }>;
}) {
  const t = say("progress");
  const actor = await signedIn();
  const { childId } = await params;
  const granted = await grant(actor, "progress.read", childId);
  const reading = await grant(actor, "child.read", childId);
  const now = Date.now();
  const { timeZone: zone } = await practiceOf(await grant(actor, "practice.read", null), now);
  const [child, exercises] = await Promise.all([childOf(reading), progressOf(granted, now)]);
  const days = await Promise.all(exercises.map(({ standing }) => practiceDaysOf(reading, standing.exerciseKey)));
  const { all } = await searchParams;
  return (
    <Stack gap="large">
      <Heading level={1} lead={t("lead")}>{t("title", { child: child.givenName })}</Heading>
      <Caution>{t("caution")}</Caution>
      <p><Link href={`/desk/children/${childId}`} prefetch={false}>{t("back", { child: child.givenName })}</Link></p>
      <section aria-labelledby="record">
        <Stack>
          <Heading level={2} id="record">{t("record")}</Heading>
          <RecordFacts childId={childId} record={exercises[0]?.standing.record ?? null} today={localDate(now, zone)} />
        </Stack>
      </section>
      {exercises.map((progress, at) => (
        <ExercisePart key={progress.standing.exerciseKey} progress={progress} days={days[at] ?? []} zone={zone} now={now} showsAll={all === progress.standing.exerciseKey} />
      ))}
      <PrintThis words={{ print: t("print"), hint: t("printHint") }} />
    </Stack>
  );
}
