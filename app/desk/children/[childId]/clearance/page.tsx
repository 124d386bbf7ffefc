import Link from "next/link";
import { clearSymptomAction } from "@/app/desk/children/[childId]/clearance/actions";
import { ActionForm } from "@/app/ui/action-form";
import { EmptyState } from "@/app/ui/empty-state";
import { Field, TextArea } from "@/app/ui/field";
import { Heading } from "@/app/ui/heading";
import { Caution, Notice } from "@/app/ui/notice";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { formatDateTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import { openSymptomsOf } from "@/lib/records/clearances";
import { childOf } from "@/lib/records/families";

/** The only way a symptom stop is lifted. */
export default async function ClearancePage({ params }: { readonly params: Promise<{ readonly childId: string }> }) {
  const t = say("desk");
  const actor = await signedIn();
  const { childId } = await params;
  const reports = await openSymptomsOf(await grant(actor, "symptom.clear", childId));
  const child = await childOf(await grant(actor, "child.read", childId));
  return (
    <Stack gap="large">
      <Link href={`/desk/children/${childId}`} prefetch={false}>{t("acts.toChild", { child: child.givenName })}</Link>
      <Heading level={1} lead={t("acts.clearLead")}>{`${t("acts.clearTitle")}: ${child.givenName}`}</Heading>
      {reports.length === 0 ? <EmptyState title={t("acts.clearNone")} /> : reports.map((report) => (
        <section key={report.reportId}>
          <Stack>
            <Notice kind="stop" title={t("queue.symptomWhen", { when: formatDateTime(report.reportedAt, actor.timeZone), who: report.reportedBy })}>
              {report.writtenAt === null ? null : <p>{t("queue.symptomWritten", { when: formatDateTime(report.writtenAt, actor.timeZone) })}</p>}
              <p>{report.symptoms.map((symptom) => say("family")(`symptom.is.${symptom}`)).join(". ")}</p>
              {report.note ? <p>“{report.note}”</p> : null}
            </Notice>
            <ActionForm action={clearSymptomAction} once={crypto.randomUUID()} childId={childId} label={t("acts.clearTitle")}>
              <input type="hidden" name="reportId" value={report.reportId} />
              <Field label={t("acts.spokeTo")} name="spokeTo" required maxLength={200} autoComplete="off" />
              <TextArea label={t("acts.outcome")} name="outcome" required maxLength={1000} />
              <Caution>{t("answering.caution")}</Caution>
              <SubmitButton pending={t("acts.working")}>{t("acts.clearSend")}</SubmitButton>
            </ActionForm>
          </Stack>
        </section>
      ))}
    </Stack>
  );
}
