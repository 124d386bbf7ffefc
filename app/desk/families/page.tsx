import Link from "next/link";
import { addFamilyAction } from "@/app/desk/families/actions";
import { ChildLine } from "@/app/desk/families/child-line";
import { Pages, pageIn } from "@/app/desk/pages";
import { ActionForm } from "@/app/ui/action-form";
import { Button } from "@/app/ui/button";
import { EmptyState } from "@/app/ui/empty-state";
import { Field } from "@/app/ui/field";
import { Heading } from "@/app/ui/heading";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import { Row, Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { say } from "@/lib/messages/say";
import { familiesOf, sentByChild } from "@/lib/records/families";
import { practiceOf } from "@/lib/records/practice";
import { standings } from "@/lib/records/standing";

type Query = Readonly<Partial<Record<"find" | "page", string | string[]>>>;

/** The desk's list of families, a page at a time; the search works without scripts. */
export default async function FamiliesPage({ searchParams }: { readonly searchParams: Promise<Query> }) {
  const t = say("desk");
  const { find, page: asked } = await searchParams;
  const sought = typeof find === "string" ? find.trim().slice(0, 80) : "";
  const actor = await signedIn();
  const reading = await grant(actor, "families.read", null);
  const now = Date.now();
  const { timeZone } = await practiceOf(await grant(actor, "practice.read", null), now);
  const { families, found, page, pages } = await familiesOf(reading, { sought, page: pageIn(asked) });
  const children = families.flatMap((family) => family.children.map(({ childId }) => childId));
  const [all, sent] = await Promise.all([standings(reading, families.map(({ familyId }) => familyId), now), sentByChild(reading, children)]);
  const isNew = found === 0 && sought === "";
  return (
    <Stack gap="large">
      <Heading level={1} lead={t("families.lead")}>{t("families.title")}</Heading>
      {isNew ? <EmptyState title={t("families.empty")}><p>{t("families.emptyWhat")}</p></EmptyState> : (
        <search>
          <form method="get">
            <Row>
              <Field label={t("families.search")} name="find" defaultValue={sought} maxLength={80} />
              <Button type="submit" kind="quiet">{t("families.searchGo")}</Button>
              {sought ? <Link href="/desk/families" prefetch={false}>{t("families.all")}</Link> : null}
            </Row>
          </form>
        </search>
      )}
      {found === 0 && !isNew ? <EmptyState title={t("families.noneFound")} /> : null}
      {families.map((family) => (
        <section key={family.familyId} aria-labelledby={`family-${family.familyId}`}>
          <Heading level={2} id={`family-${family.familyId}`}>
            <Link href={`/desk/families/${family.familyId}`} prefetch={false}>{family.name}</Link>
          </Heading>
          {family.children.length === 0 ? <p>{t("families.noChild")}</p> : (
            <RuledList label={family.name}>
              {all.filter((each) => each.familyId === family.familyId).map((each) => (
                <RuledRow key={`${each.childId} ${each.exerciseKey}`}>
                  <ChildLine standing={each} sent={sent.find((row) => row.childId === each.childId)} zone={timeZone} now={now} />
                </RuledRow>
              ))}
            </RuledList>
          )}
        </section>
      ))}
      <Pages page={page} pages={pages} addressOf={(at) => addressOf(sought, at)} />
      <section>
        <Heading level={2}>{t("families.add")}</Heading>
        <ActionForm action={addFamilyAction} once={crypto.randomUUID()} label={t("families.add")}>
          <Field label={t("families.name")} name="name" required maxLength={80} autoComplete="off" />
          <SubmitButton pending={t("families.adding")}>{t("families.add")}</SubmitButton>
        </ActionForm>
      </section>
    </Stack>
  );
}

const addressOf = (sought: string, page: number): string =>
  `/desk/families?${new URLSearchParams({ ...(sought === "" ? {} : { find: sought }), ...(page === 1 ? {} : { page: String(page) }) })}`;
