import Link from "next/link";
import { decidePlaceAction, takeInAction } from "@/app/desk/sessions/actions";
import { ActionForm } from "@/app/ui/action-form";
import { Button } from "@/app/ui/button";
import { Field, SelectField } from "@/app/ui/field";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import { Row, Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { formatDateTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import type { mayBeTakenIn } from "@/lib/records/session-fit";
import type { SessionChild } from "@/lib/records/session-photos";

/** Who waits for a word, and who was declined, whom a therapist may still take in. */
export function PlacesPart({ sessionId, rows, zone }: { readonly sessionId: string; readonly rows: readonly SessionChild[]; readonly zone: string }) {
  const t = say("sessions");
  const [waiting, declined] = [rows.filter(({ decision }) => decision === null), rows.filter(({ decision }) => decision === "declined")];
  const decide = (row: SessionChild, decision: "taken-in" | "declined", word: string) => (
    <ActionForm action={decidePlaceAction} once={crypto.randomUUID()}>
      <input type="hidden" name="sessionId" value={sessionId} />
      <input type="hidden" name="placeId" value={row.placeId} />
      <input type="hidden" name="decision" value={decision} />
      <input type="hidden" name="seen" value={row.decision ?? ""} />
      <SubmitButton kind={decision === "taken-in" && row.decision === null ? "primary" : "quiet"} pending={t("waiting.working")}>{t(word, { child: row.childName })}</SubmitButton>
    </ActionForm>
  );
  return (
    <>
      <section>
        <Heading level={2}>{t("waiting.title")}</Heading>
        {waiting.length === 0 ? <p>{t("waiting.none")}</p> : (
          <RuledList label={t("waiting.title")}>
            {waiting.map((row) => (
              <RuledRow key={row.placeId}>
                <Stack gap="small">
                  <p><Link href={`/desk/children/${row.childId}`} prefetch={false}><strong>{row.childName}</strong></Link> · {row.familyName}</p>
                  <p>{t("waiting.asked", { who: row.askedBy, date: formatDateTime(row.placeAskedAt, zone) })}</p>
                  {row.fit === "fits" ? null : <Notice kind="caution">{t(`fit.${row.fit}`)}</Notice>}
                  <Row>{row.fit === "fits" ? decide(row, "taken-in", "waiting.takeIn") : null}{decide(row, "declined", "waiting.decline")}</Row>
                </Stack>
              </RuledRow>
            ))}
          </RuledList>
        )}
      </section>
      {declined.length === 0 ? null : (
        <details>
          <summary>{t("declined.title")}</summary>
          <RuledList label={t("declined.title")}>
            {declined.map((row) => <RuledRow key={row.placeId}><Stack gap="small"><p><strong>{row.childName}</strong> · {row.familyName}</p>{decide(row, "taken-in", "declined.takeIn")}</Stack></RuledRow>)}
          </RuledList>
        </details>
      )}
    </>
  );
}

/** Staff give a place themselves, to a child whom the session fits; a long list is gone through by name. */
export function AddPart({ sessionId, mayCome: { fitting, hasMore }, sought }: { readonly sessionId: string; readonly mayCome: Awaited<ReturnType<typeof mayBeTakenIn>>; readonly sought: string }) {
  const t = say("sessions");
  return (
    <section>
      <Heading level={2} lead={t("add.lead")}>{t("add.title")}</Heading>
      <Stack>
        {hasMore || sought !== "" ? (
          <search>
            <form method="get">
              <Row>
                <Field label={t("add.find")} name="find" defaultValue={sought} maxLength={80} />
                <Button type="submit" kind="quiet">{t("add.findGo")}</Button>
                {sought === "" ? null : <Link href={`/desk/sessions/${sessionId}`} prefetch={false}>{t("add.all")}</Link>}
              </Row>
            </form>
          </search>
        ) : null}
        {fitting.length === 0 ? <p>{t(sought === "" ? "add.nobody" : "add.nobodyFound")}</p> : (
          <ActionForm action={takeInAction} once={crypto.randomUUID()} label={t("add.title")}>
            <input type="hidden" name="sessionId" value={sessionId} />
            <SelectField label={t("add.child")} name="careOf" required
              options={[{ value: "", label: t("add.choose") }, ...fitting.map(({ childId, childName, familyName }) => ({ value: childId, label: `${childName} · ${familyName}` }))]} />
            {hasMore ? <p>{t("add.more", { n: fitting.length })}</p> : null}
            <SubmitButton kind="quiet" pending={t("add.working")}>{t("add.press")}</SubmitButton>
          </ActionForm>
        )}
      </Stack>
    </section>
  );
}
