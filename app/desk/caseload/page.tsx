import Link from "next/link";
import { CaseLine } from "@/app/desk/caseload/case-line";
import { addressOf, chosenIn, ORDERS, type Chosen, type Query } from "@/app/desk/caseload/query";
import { Pages } from "@/app/desk/pages";
import styles from "@/app/desk/queue.module.css";
import { Button } from "@/app/ui/button";
import { EmptyState } from "@/app/ui/empty-state";
import { Field } from "@/app/ui/field";
import { Heading } from "@/app/ui/heading";
import { Caution } from "@/app/ui/notice";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import { Row, Stack } from "@/app/ui/stack";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { isShown, MOST_WEEKS, SHOWN } from "@/lib/domain/caseload/reasons";
import { once } from "@/lib/domain/once";
import { say } from "@/lib/messages/say";
import { caseloadOf } from "@/lib/records/caseload";
import { exerciseWords, type ExerciseNames } from "@/lib/records/exercise-names";

/** Rows on one page. */
const AT_ONCE = 50;

/** Whom it is time to look at, found by what the practice's own records say. Every choice stands in the address. */
export default async function CaseloadPage({ searchParams }: { readonly searchParams: Promise<Query> }) {
  const t = say("caseload");
  const actor = await signedIn();
  const chosen = chosenIn(await searchParams);
  const { rows, weeks, timeZone } = await caseloadOf(await grant(actor, "caseload.read", null), chosen, Date.now());
  const found = rows.filter(({ reasons }) => isShown(reasons, chosen.show));
  const pages = Math.max(1, Math.ceil(found.length / AT_ONCE));
  const page = Math.min(chosen.page, pages);
  const names = namesOnce(actor.practiceId);
  return (
    <Stack gap="large">
      <Heading level={1} lead={t("lead")}>{t("title")}</Heading>
      <Caution>{t("caution")}</Caution>
      <nav aria-label={t("show")}>
        <Row>
          {SHOWN.map((show) => (
            <Choice key={show} chosen={{ ...chosen, show, page: 1 }} isCurrent={show === chosen.show}>
              {t(`shown.${show}`)} ({rows.filter(({ reasons }) => isShown(reasons, show)).length})
            </Choice>
          ))}
        </Row>
        <Row>
          {ORDERS.map((order) => <Choice key={order} chosen={{ ...chosen, order, page: 1 }} isCurrent={order === chosen.order}>{t(`order.${order}`)}</Choice>)}
        </Row>
      </nav>
      <search>
        <form method="get" action="/desk/caseload">
          {chosen.show === "any" ? null : <input type="hidden" name="show" value={chosen.show} />}
          {chosen.order === "urgency" ? null : <input type="hidden" name="order" value={chosen.order} />}
          <Row>
            <Field label={t("weeks")} name="weeks" type="number" inputMode="numeric" min="1" max={String(MOST_WEEKS)} defaultValue={String(weeks)} />
            <Button type="submit" kind="quiet">{t("find")}</Button>
          </Row>
          <p>{t("weeksHint")}</p>
        </form>
      </search>
      {found.length === 0 ? (
        <EmptyState title={t(`empty.${chosen.show}`)}><p>{t(`emptyWhat.${chosen.show}`, { weeks })}</p></EmptyState>
      ) : (
        <section aria-labelledby="found">
          <Heading level={2} id="found" lead={t("count", { n: found.length })}>{t(`shown.${chosen.show}`)}</Heading>
          <RuledList label={t("list")}>
            {found.slice((page - 1) * AT_ONCE, page * AT_ONCE).map((row) => <RuledRow key={row.childId}><CaseLine row={row} names={names} zone={timeZone} /></RuledRow>)}
          </RuledList>
          <Pages page={page} pages={pages} addressOf={(at) => addressOf({ ...chosen, page: at })} />
        </section>
      )}
    </Stack>
  );
}

function Choice({ chosen, isCurrent, children }: { readonly chosen: Chosen; readonly isCurrent: boolean; readonly children: React.ReactNode }) {
  return <Link href={addressOf(chosen)} prefetch={false} className={styles.filter} aria-current={isCurrent ? "true" : undefined}>{children}</Link>;
}

/** The names of each exercise, read once a page however many rows say them. */
const namesOnce = (practiceId: string): ((exerciseKey: string) => ExerciseNames) => once((key) => exerciseWords(practiceId, key, null));
