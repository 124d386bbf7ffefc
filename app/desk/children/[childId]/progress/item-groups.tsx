import { Heading } from "@/app/ui/heading";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import { Stack } from "@/app/ui/stack";
import { STUCK_AFTER } from "@/lib/domain/caseload/reasons";
import type { LedgerRow } from "@/lib/domain/ledger/ledger";
import { formatDate } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";

/** What wants a look comes first; within a state the exercise's own order. */
const ORDER = ["slipped", "working-on", "not-seen-yet", "settled"] as const;

/** The items of one exercise under the word of their state, and since when each is in it. */
export function ItemGroups({ rows, titleOf, zone }: {
  readonly rows: readonly LedgerRow[];
  readonly titleOf: (itemKey: string) => string;
  readonly zone: string;
}) {
  const t = say("progress");
  return (
    <Stack>
      {ORDER.map((state) => {
        const here = rows.filter((row) => row.state === state);
        return (
          <section key={state}>
            <Heading level={3} lead={t(`stateMeans.${state}`)}>{`${t(`stateIs.${state}`)} (${here.length})`}</Heading>
            {here.length === 0 ? <p>{t("stateNone")}</p> : (
              <RuledList label={t(`stateIs.${state}`)}>
                {here.map((row) => <RuledRow key={row.itemKey}><strong>{titleOf(row.itemKey)}</strong>{factsOf(row, zone).map((fact) => `, ${fact}`).join("")}</RuledRow>)}
              </RuledList>
            )}
          </section>
        );
      })}
    </Stack>
  );
}

function factsOf({ isStop, state, stateSince, standsAt, photosAtFix }: LedgerRow, zone: string): readonly string[] {
  const t = say("progress");
  return [
    ...(isStop ? [t("isStop")] : []),
    ...(stateSince === null ? [] : [t("since", { date: formatDate(stateSince, zone) })]),
    ...(photosAtFix >= STUCK_AFTER ? [t("stuck", { photos: photosAtFix })] : []),
    ...(state === "slipped" && standsAt === "in-place" ? [t("slippedBack")] : []),
  ];
}
