import Link from "next/link";
import { shareSaid } from "@/app/desk/teaching/share-said";
import { Heading } from "@/app/ui/heading";
import { DefinitionRows } from "@/app/ui/ruled";
import { ENOUGH } from "@/lib/domain/stats/teaching-points";
import { formatDate } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import type { PointToTeach } from "@/lib/records/teaching";

/** One block an item, as wide as the page has room: what its need rests on, and the photos behind it. */
export function PointRows({ points, titleOf, zone }: { readonly points: readonly PointToTeach[]; readonly titleOf: (itemKey: string) => string; readonly zone: string }) {
  const t = say("teaching");
  return points.map((point) => (
    <section key={point.itemKey} aria-label={titleOf(point.itemKey)}>
      <Heading level={3}>{titleOf(point.itemKey)}</Heading>
      <DefinitionRows rows={[
        { term: t("column.need"), value: need(point) },
        { term: t("column.until"), value: until(point) },
        { term: t("column.slips"), value: point.slips.of === 0 ? t("slipsNone") : t("slips", shareSaid(point.slips)) },
        { term: t("column.behind"), value: <Photos photos={point.photos} of={point.faults} zone={zone} /> },
      ]} />
    </section>
  ));
}

function need({ first, isClaimed }: PointToTeach): string {
  const t = say("teaching");
  return isClaimed ? `${t("first", shareSaid(first))} ${t("limits", shareSaid(first))}` : `${t("first", shareSaid(first))} ${t("few", { of: first.of, enough: ENOUGH })}`;
}

function until({ settling: { curve, median } }: PointToTeach): string {
  const t = say("teaching");
  const reached = (value: number | null) => (value === null ? t("notReached") : String(value));
  const open = t("open", { n: curve.n, open: curve.open });
  if (median.estimate === null) return `${t("settledNot")} ${open}`;
  const isLimited = median.lower !== null || median.upper !== null;
  return `${t("settled", { median: median.estimate })} ${isLimited ? t("settledLimits", { lower: reached(median.lower), upper: reached(median.upper) }) : t("settledNoLimits")} ${open}`;
}

function Photos({ photos, of, zone }: { readonly photos: PointToTeach["photos"]; readonly of: number; readonly zone: string }) {
  const t = say("teaching");
  if (photos.length === 0) return t("none");
  return (
    <details>
      <summary>{t("photos", { count: of })}</summary>
      {photos.length < of ? <p>{t("photosNewest", { count: photos.length })}</p> : null}
      <ul>
        {photos.map((photo) => (
          <li key={photo.photoSetId}>
            <Link href={`/desk/children/${photo.childId}/sets/${photo.photoSetId}`} prefetch={false}>{t("photo", { date: formatDate(photo.sentAt, zone) })}</Link>
            {`: ${[...(photo.isFirst ? [t("photoFirst")] : []), photo.mayTeach ? t("mayTeach") : t("deskOnly")].join(", ")}`}
          </li>
        ))}
      </ul>
    </details>
  );
}
