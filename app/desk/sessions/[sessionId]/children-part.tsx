import Link from "next/link";
import type { ReactNode } from "react";
import { takeBackAskAction, takeOutAction } from "@/app/desk/sessions/actions";
import styles from "@/app/desk/sessions/[sessionId]/children-part.module.css";
import { ActionForm } from "@/app/ui/action-form";
import { Heading } from "@/app/ui/heading";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { byNeed, counted } from "@/lib/domain/sessions/asked-photo";
import { formatDateTime, formatLocalDate } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import type { SessionChild } from "@/lib/records/session-photos";

const COLUMNS = ["child", "state", "asked", "sent", "answered", "read"] as const;

/** Who is in and what became of each photo, what needs somebody first. */
export function ChildrenPart({ sessionId, rows, zone, isClosed }: { readonly sessionId: string; readonly rows: readonly SessionChild[]; readonly zone: string; readonly isClosed: boolean }) {
  const t = say("sessions");
  const ordered = rows.toSorted((a, b) => byNeed(a.ask?.state ?? null, b.ask?.state ?? null));
  return (
    <section>
      <Heading level={2} {...(rows.length > 0 ? { lead: t("children.summary", { children: rows.length, ...counted(rows.map(({ ask }) => ask?.state ?? null)), opened: rows.filter(({ ask }) => ask?.openedAt).length }) } : {})}>{t("children.title")}</Heading>
      {rows.length === 0 ? <p>{t("children.none")}</p> : (
        <section className={styles.box} aria-label={t("children.title")} tabIndex={0}>
          <table className={styles.table}>
            <thead><tr>{COLUMNS.map((key) => <th key={key} scope="col">{t(`children.column.${key}`)}</th>)}</tr></thead>
            <tbody>{ordered.map((row) => <ChildRow key={row.placeId} sessionId={sessionId} row={row} zone={zone} isClosed={isClosed} />)}</tbody>
          </table>
        </section>
      )}
    </section>
  );
}

function ChildRow({ sessionId, row, zone, isClosed }: { readonly sessionId: string; readonly row: SessionChild; readonly zone: string; readonly isClosed: boolean }) {
  const t = say("sessions");
  const { ask, childId, childName: child } = row;
  const set = ask?.photoSetId ? `/desk/children/${childId}/sets/${ask.photoSetId}` : null;
  const at = (instant: number) => formatDateTime(instant, zone);
  return (
    <tr data-state={ask?.state ?? "none"}>
      <th scope="row">
        <Link href={`/desk/children/${childId}`} prefetch={false}>{child}</Link> <span className={styles.small}>{row.familyName}</span>
        {isClosed ? null : <Change sessionId={sessionId} row={row} />}
      </th>
      <td data-label={t("children.column.state")}>
        <strong>{t(`state.${ask?.state ?? "none"}`)}</strong>
        {row.fit === "fits" ? null : <p className={styles.small}>{t(`fit.${row.fit}`)}</p>}
        {row.fit === "fits" && row.heldBack && isWaited(row) ? <p className={styles.small}>{t(`held.${row.heldBack}`)}</p> : null}
      </td>
      <Cell column="asked">{ask ? t("children.due", { asked: at(ask.askedAt), due: formatLocalDate(ask.dueOn) }) : null}</Cell>
      <Cell column="sent">{set && ask?.sentAt ? <Link href={set} prefetch={false}>{at(ask.sentAt)}</Link> : null}</Cell>
      <Cell column="answered">{set && ask?.answeredAt ? <Link href={set} prefetch={false}>{at(ask.answeredAt)}</Link> : null}</Cell>
      <Cell column="read">{ask?.answeredAt ? (
        <>
          {ask.openedAt === null ? t("children.unopened") : t("children.opened", { when: at(ask.openedAt) })}
          {ask.stop === "none" ? null : <p className={styles.small}>{t(`stop.${ask.stop}`)}</p>}
        </>
      ) : null}</Cell>
    </tr>
  );
}

/** On a phone each cell says its column's word; one that holds nothing is left out there. */
const Cell = ({ column, children }: { readonly column: (typeof COLUMNS)[number]; readonly children: ReactNode }) =>
  <td data-label={say("sessions")(`children.column.${column}`)} data-empty={children === null ? "" : undefined}>{children ?? "–"}</td>;

/** Whether somebody would still be asked or reminded. */
const isWaited = ({ ask }: SessionChild): boolean => ask === null || ask.state === "asked" || ask.state === "late";

function Change({ sessionId, row }: { readonly sessionId: string; readonly row: SessionChild }) {
  const t = say("sessions");
  const { ask, childName: child, placeId } = row;
  return (
    <details>
      <summary>{t("children.more")}</summary>
      <Stack gap="small">
        {ask && isWaited(row) ? (
          <ActionForm action={takeBackAskAction} once={crypto.randomUUID()}>
            <input type="hidden" name="sessionId" value={sessionId} />
            <input type="hidden" name="askId" value={ask.askId} />
            <SubmitButton kind="quiet" pending={t("waiting.working")}>{t("children.takeBack", { child })}</SubmitButton>
          </ActionForm>
        ) : null}
        <ActionForm action={takeOutAction} once={crypto.randomUUID()}>
          <input type="hidden" name="sessionId" value={sessionId} />
          <input type="hidden" name="placeId" value={placeId} />
          <SubmitButton kind="quiet" pending={t("waiting.working")}>{t("children.takeOut", { child })}</SubmitButton>
        </ActionForm>
      </Stack>
    </details>
  );
}
