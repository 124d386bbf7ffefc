import Link from "next/link";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import type { ChildGrant } from "@/lib/access/grant";
import { formatDate } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import { photoSetsOf } from "@/lib/records/photo-sets";

/** What was sent for this exercise, newest first. */
export async function SetsPart({ reading, exerciseKey, zone, now }: { readonly reading: ChildGrant<"child.read">; readonly exerciseKey: string; readonly zone: string; readonly now: number }) {
  const t = say("desk");
  const sets = await photoSetsOf(reading, exerciseKey, now);
  if (sets.length === 0) return <p>{t("families.child.noSets")}</p>;
  return (
    <RuledList label={t("families.child.sets")}>
      {sets.map((set) => (
        <RuledRow key={set.photoSetId}>
          <Link href={`/desk/children/${reading.childId}/sets/${set.photoSetId}`} prefetch={false}>{t("families.child.setOn", { date: formatDate(set.sentAt, zone) })}</Link>. {say("exercise")(`phases.${set.phase}`)}.{" "}
          {set.voidReason !== null ? t("families.child.voided")
            : set.answeredAt === null ? t(set.isOnFamily ? "families.child.onFamily" : "families.child.waits") : t("families.child.answered", { date: formatDate(set.answeredAt, zone) })}
        </RuledRow>
      ))}
    </RuledList>
  );
}
