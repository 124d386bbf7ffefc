import { confirmRetentionAction } from "@/app/desk/erasures/actions";
import { ActionForm } from "@/app/ui/action-form";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { formatDate, formatDateTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import type { RetentionView } from "@/lib/records/retention";

/** What the next look would erase and whom it would tell, before it does; and what waits for the lead. */
export function RetentionPart({ view, zone, now }: { readonly view: RetentionView; readonly zone: string; readonly now: number }) {
  const t = say("erasures");
  const { held } = view;
  const rows = (label: string, some: RetentionView["due"], none: string) => (
    <Stack>
      <Heading level={3}>{label}</Heading>
      {some.length === 0 ? <p>{none}</p> : (
        <RuledList label={label}>
          {some.map(({ childId, childName, photos, eraseAt }) => <RuledRow key={childId}>{t("retention.row", { child: childName, n: photos, date: formatDate(eraseAt, zone) })}</RuledRow>)}
        </RuledList>
      )}
    </Stack>
  );
  return (
    <section>
      <Stack>
        <Heading level={2} lead={t("retention.lead", { months: view.months })}>{t("retention.title")}</Heading>
        <p>{view.lastAt === null ? t("retention.never") : t("retention.last", { when: formatDateTime(view.lastAt, zone) })}</p>
        {held?.isConfirmed === false ? (
          <>
            <Notice kind="caution">{t("retention.held", { n: held.photos, total: view.total, date: formatDateTime(now, zone) })}</Notice>
            <ActionForm action={confirmRetentionAction} once={crypto.randomUUID()} label={t("retention.title")}>
              <input type="hidden" name="runId" value={held.runId} />
              <input type="hidden" name="photos" value={held.photos} />
              <SubmitButton kind="quiet" pending={t("retention.confirming")}>{t("retention.confirm")}</SubmitButton>
            </ActionForm>
          </>
        ) : null}
        {held?.isConfirmed ? <Notice kind="done">{t("retention.heldOk")}</Notice> : null}
        {rows(t("retention.due"), view.due, t("retention.dueNone"))}
        {view.left > 0 ? <p>{t("retention.unfinished", { n: view.left })}</p> : null}
        {rows(t("retention.soon"), view.soon, t("retention.soonNone"))}
      </Stack>
    </section>
  );
}
