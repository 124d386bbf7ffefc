import Link from "next/link";
import { Stack } from "@/app/ui/stack";
import type { Reason } from "@/lib/domain/caseload/reasons";
import { formatDate, formatDateTime, formatLocalDate } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import type { CaseRow } from "@/lib/records/caseload";
import type { ExerciseNames } from "@/lib/records/exercise-names";

type Names = (exerciseKey: string) => ExerciseNames;

/** One child with every reason to look at it, in words. */
export function CaseLine({ row, names, zone }: { readonly row: CaseRow; readonly names: Names; readonly zone: string }) {
  const t = say("caseload");
  const base = `/desk/children/${row.childId}`;
  return (
    <Stack gap="small">
      <p>
        <Link href={base} prefetch={false}><strong>{row.childName}</strong></Link>, {t("family", { family: row.familyName })}.{" "}
        <Link href={`${base}/progress`} prefetch={false} aria-label={`${t("progress")}: ${row.childName}`}>{t("progress")}</Link>
      </p>
      {row.reasons.length === 0 ? <p>{t("noReason")}.</p> : (
        <ul>{row.reasons.map((reason) => <li key={reasonKey(reason)}>{reasonWords(reason, names, zone)}.</li>)}</ul>
      )}
    </Stack>
  );
}

const reasonKey = (reason: Reason): string => (reason.kind === "stuck" ? `${reason.exerciseKey} ${reason.itemKey}` : reason.kind);

export function reasonWords(reason: Reason, names: Names, zone: string): string {
  const t = say("caseload");
  switch (reason.kind) {
    case "unread-stop": return t("reasonIs.unread-stop", { when: formatDateTime(reason.since, zone) });
    case "record": return t(`reasonIs.record-${reason.due}`, { date: reason.day === null ? "" : formatLocalDate(reason.day) });
    case "stuck": {
      const { title, itemTitle } = names(reason.exerciseKey);
      return t("reasonIs.stuck", { item: itemTitle(reason.itemKey), photos: reason.photos, exercise: title });
    }
    case "not-sent": {
      const said = t(reason.hasSent ? "reasonIs.not-sent" : "reasonIs.never-sent", { weeks: reason.weeks, date: formatDate(reason.since, zone) });
      return reason.hasConsent ? said : `${said}; ${t("reasonIs.no-consent")}`;
    }
  }
}
