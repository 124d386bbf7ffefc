import Link from "next/link";
import { patternName } from "@/app/desk/queue-words";
import { PointRows } from "@/app/desk/teaching/point-rows";
import { addressOf, teachingIn, type Query, type Teaching } from "@/app/desk/teaching/start";
import { EmptyState } from "@/app/ui/empty-state";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import { Stack } from "@/app/ui/stack";
import { say } from "@/lib/messages/say";

/** What to teach a group once more, by exercise and curve pattern. */
export default async function TeachingPage({ searchParams }: { readonly searchParams: Query }) {
  const t = say("teaching");
  const teaching = await teachingIn(searchParams);
  return (
    <Stack gap="large">
      <Heading level={1} lead={t("lead")}>{t("title")}</Heading>
      {teaching ? <Points teaching={teaching} /> : <EmptyState title={t("empty")}><p>{t("emptyWhat")}</p></EmptyState>}
    </Stack>
  );
}

function Points({ teaching: { all, one, points, names, titleOf, zone } }: { readonly teaching: Teaching }) {
  const t = say("teaching");
  return (
    <>
      <nav aria-labelledby="taught">
        <Heading level={2} id="taught">{t("choose")}</Heading>
        <RuledList>
          {all.map((each) => (
            <RuledRow key={addressOf("", each)}>
              <Link href={addressOf("/desk/teaching", each)} prefetch={false} aria-current={each === one ? "page" : undefined}>
                {`${titleOf(each.exerciseKey)}: ${patternName(each.pattern)}`}
              </Link>
              {`, ${t("of", { photoSets: each.photoSets, children: each.children })}`}
              {each === one ? <strong>{`. ${t("chosen")}`}</strong> : "."}
            </RuledRow>
          ))}
        </RuledList>
      </nav>
      <section aria-labelledby="points">
        <Stack>
          <Heading level={2} id="points" lead={`${names.title}: ${patternName(one.pattern)}`}>{t("points")}</Heading>
          <p><Link href={addressOf("/desk/teaching/plan", one)} prefetch={false}>{t("plan")}</Link></p>
          <Notice kind="caution">{t("consent")}</Notice>
          <PointRows points={points} titleOf={names.itemTitle} zone={zone} />
        </Stack>
      </section>
    </>
  );
}
