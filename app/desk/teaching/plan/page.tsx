import { patternName } from "@/app/desk/queue-words";
import { shareSaid } from "@/app/desk/teaching/share-said";
import { teachingIn, type Query } from "@/app/desk/teaching/start";
import { EmptyState } from "@/app/ui/empty-state";
import { Heading } from "@/app/ui/heading";
import { Caution } from "@/app/ui/notice";
import { PrintThis } from "@/app/ui/print-this";
import { Stack } from "@/app/ui/stack";
import { formatDate } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";

/** More than this a group does not keep (common practice, no source). */
const POINTS = 3;

/** One page for the teacher's hand: what to show again, and in which words. It names nobody. */
export default async function PlanPage({ searchParams }: { readonly searchParams: Query }) {
  const t = say("teaching");
  const teaching = await teachingIn(searchParams);
  if (!teaching) return <EmptyState title={t("empty")}><p>{t("emptyWhat")}</p></EmptyState>;
  const { one, names, zone, now } = teaching;
  const points = teaching.points.filter(({ isClaimed, first }) => isClaimed && first.count > 0).slice(0, POINTS);
  return (
    <Stack gap="large">
      <Heading level={1} lead={t("planLead", { exercise: names.title, pattern: patternName(one.pattern) })}>{t("plan")}</Heading>
      <Caution>{t("planCaution")}</Caution>
      {points.length === 0 ? <EmptyState title={t("planNone")} /> : (
        <ol>
          {points.map(({ itemKey, first, cue }) => (
            <li key={itemKey}>
              <Heading level={2}>{names.itemTitle(itemKey)}</Heading>
              <p>{t("planPoint", shareSaid(first))}</p>
              {cue ? <p>{t("planCue", { cue })}</p> : null}
            </li>
          ))}
        </ol>
      )}
      <p>{t("planRests", { photoSets: one.photoSets, children: one.children, date: formatDate(now, zone) })}</p>
      <PrintThis words={{ print: t("print"), hint: t("printHint") }} />
    </Stack>
  );
}
