import { recordCurveAction } from "@/app/desk/children/[childId]/curve/actions";
import { CurveEditor } from "@/app/desk/children/[childId]/curve/curve-editor";
import { editorWords, warningWords } from "@/app/desk/children/[childId]/curve/words";
import { spineLabel } from "@/app/desk/families/words";
import { ActionForm } from "@/app/ui/action-form";
import { Heading } from "@/app/ui/heading";
import { Caution } from "@/app/ui/notice";
import { Stack } from "@/app/ui/stack";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { localDate } from "@/lib/domain/time/local";
import { say } from "@/lib/messages/say";
import { curveRecordsOf } from "@/lib/records/curve-records";
import { childOf } from "@/lib/records/families";
import { practiceOf } from "@/lib/records/practice";

/** Where a curve record is entered: nothing is preselected, and every side is said twice. */
export default async function CurvePage({ params }: { readonly params: Promise<{ readonly childId: string }> }) {
  const t = say("desk");
  const actor = await signedIn();
  const { childId } = await params;
  await grant(actor, "curve-record.write", childId);
  const reading = await grant(actor, "child.read", childId);
  const [child, records] = await Promise.all([childOf(reading), curveRecordsOf(reading)]);
  const now = Date.now();
  const { timeZone } = await practiceOf(await grant(actor, "practice.read", null), now);
  const words = { "stale-version": t("curve.stale"), "apex-region-disagree": t("curve.problems.apex-region-disagree", { apex: "{apex}" }) };
  return (
    <Stack gap="large">
      <Heading level={1} lead={t("curve.lead")}>{`${t("curve.title")}: ${child.givenName}`}</Heading>
      <Caution>{say("common")("caution")}</Caution>
      <ActionForm action={recordCurveAction} once={crypto.randomUUID()} childId={childId} problemWords={words} label={t("curve.title")}>
        <input type="hidden" name="basedOn" value={records.at(0)?.id ?? ""} />
        <CurveEditor words={editorWords()} warnings={warningWords()} label={spineLabel("")} today={localDate(now, timeZone)} />
      </ActionForm>
    </Stack>
  );
}
