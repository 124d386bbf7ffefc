import type { Metadata } from "next";
import Link from "next/link";
import { notFound } from "next/navigation";
import { ThenAndNow } from "@/app/desk/children/[childId]/then-and-now/then-and-now";
import { pairWords, shownPhotos } from "@/app/desk/children/[childId]/then-and-now/words";
import { ButtonLink } from "@/app/ui/button";
import { EmptyState } from "@/app/ui/empty-state";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { Row, Stack } from "@/app/ui/stack";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { firstPair } from "@/lib/domain/answering/pair";
import { say } from "@/lib/messages/say";
import { childOf } from "@/lib/records/families";
import { comparable } from "@/lib/records/pairs";
import { practiceOf } from "@/lib/records/practice";
import { standingsOf } from "@/lib/records/standing";

export const metadata: Metadata = { title: say("pairs")("title") };

type Query = Readonly<Partial<Record<"exercise" | "first" | "second" | "from", string | string[]>>>;
type Props = { readonly params: Promise<{ readonly childId: string }>; readonly searchParams: Promise<Query> };

/** Any two photos of one child and exercise side by side; what is looked at stands in the address. */
export default async function ThenAndNowPage({ params, searchParams }: Props) {
  const t = say("pairs");
  const actor = await signedIn();
  const { childId } = await params;
  const asked = await searchParams;
  const granted = await grant(actor, "answer.write", childId);
  const reading = await grant(actor, "child.read", childId);
  const now = Date.now();
  const { timeZone: zone } = await practiceOf(await grant(actor, "practice.read", null), now);
  const { givenName: child } = await childOf(reading);
  const standings = await standingsOf(reading, now);
  const standing = standings.find((each) => each.exerciseKey === asked.exercise) ?? standings[0];
  if (!standing) notFound();
  const photos = shownPhotos(await comparable(granted, standing.exerciseKey, now), childId, zone);
  const first = firstPair(photos, one(asked.first), one(asked.second));
  const base = `/desk/children/${childId}`;
  const from = one(asked.from) ?? "";
  return (
    <Stack>
      {/^[\w-]{1,64}$/.test(from) ? <Link href={`${base}/sets/${from}`} prefetch={false}>{t("toAnswer")}</Link> : <Link href={base} prefetch={false}>{t("toChild", { child })}</Link>}
      <Heading level={1} lead={t("lead")}>{t("of", { child })}</Heading>
      {standings.length > 1 ? (
        <nav aria-label={t("exercises")}>
          <Row>
            {standings.map(({ exerciseKey, names }) => (
              <ButtonLink key={exerciseKey} kind={exerciseKey === standing.exerciseKey ? "primary" : "quiet"} href={`${base}/then-and-now?exercise=${exerciseKey}`}>
                {names.title}
              </ButtonLink>
            ))}
          </Row>
        </nav>
      ) : null}
      {standing.photoConsent !== "given" ? <Notice kind="caution">{t("closed")}</Notice> : null}
      {first ? (
        <form method="get" key={standing.exerciseKey}>
          <input type="hidden" name="exercise" value={standing.exerciseKey} />
          {from ? <input type="hidden" name="from" value={from} /> : null}
          <ThenAndNow photos={photos} first={first} words={pairWords(photos, standing.names)} />
        </form>
      ) : <EmptyState title={t("none")}><p>{t("noneWhat")}</p></EmptyState>}
    </Stack>
  );
}

const one = (value: string | string[] | undefined): string | undefined => (typeof value === "string" ? value : undefined);
