import "server-only";
import type { PairPhoto } from "@/lib/domain/answering/pair";
import { secondsOf } from "@/lib/domain/clip/moment";
import type { MarkLabels } from "@/lib/domain/marks/draw";
import type { Mark } from "@/lib/domain/marks/marks";
import { formatDate, formatDateTime } from "@/lib/domain/time/format";
import { markLabels } from "@/lib/messages/mark-labels";
import { say } from "@/lib/messages/say";
import type { ExerciseNames } from "@/lib/records/exercise-names";
import type { ComparablePhoto } from "@/lib/records/pairs";

/** A photo with all that is said of it, ready for the browser. */
export type ShownPhoto = PairPhoto & {
  readonly width: number;
  readonly height: number;
  readonly src: string;
  readonly alt: string;
  readonly marks: readonly Mark[];
  readonly levelDegrees: number | null;
  readonly date: string;
  /** In the list to choose from: no two are alike. */
  readonly option: string;
  readonly about: string;
};

export function shownPhotos(photos: readonly ComparablePhoto[], childId: string, zone: string): readonly ShownPhoto[] {
  const t = say("pairs");
  const said = new Map<string, number>();
  return photos.map(({ photoSetId: _set, sentAt, takenAt, isAnswered, clipMs, ...photo }) => {
    const date = formatDate(photo.at, zone);
    const seen = t(`view.${photo.view}`);
    const view = clipMs === null ? seen : t("ofClip", { view: seen, at: secondsOf(clipMs) });
    const option = t("option", { date, view });
    const nth = (said.get(option) ?? 0) + 1;
    said.set(option, nth);
    const when = takenAt === null ? t("sent", { when: formatDateTime(sentAt, zone) }) : t("taken", { when: formatDateTime(takenAt, zone) });
    return {
      ...photo, date, src: `/media/${childId}/${photo.photoId}/2048`, option: nth === 1 ? option : t("again", { option, n: nth }),
      alt: t(photo.marks.length > 0 ? "markedAlt" : "alt", { date, view }), about: [view, when, t(isAnswered ? "answered" : "unanswered")].join(", "),
    };
  });
}

const PLAIN = [
  "title", "first", "second", "sameView", "otherViews", "show", "stopped", "caution", "keys", "tools", "in", "out", "whole", "left", "right", "up", "down",
  "linked", "movesFirst", "movesSecond", "marks", "swap", "attach", "attached", "full", "pairs", "gone", "takeOut", "noScript",
  "warning.views-differ", "warning.turned-back", "warning.sides-changed",
] as const;
const FILLED = {
  earlier: ["date"], later: ["date"], sameTime: ["date"],
  zoom: ["percent"], zoomEach: ["percent", "other"], pair: ["first", "second"], takeOutOf: ["pair"],
  anglesApart: ["item", "earlier", "later", "apart"], anglesNear: ["item", "earlier", "later"],
} as const;
export type PairWords = Readonly<Record<(typeof PLAIN)[number] | keyof typeof FILLED, string>> & {
  readonly labels: MarkLabels;
  /** Titles of the items that marks belong to. */
  readonly items: Readonly<Record<string, string>>;
};

/** The words of then and now; `{date}` and the like stay for the browser to fill. */
export function pairWords(photos: readonly ShownPhoto[], { itemTitle }: ExerciseNames): PairWords {
  const t = say("pairs");
  const plain = PLAIN.map((key) => [key, t(key)]);
  const filled = Object.entries(FILLED).map(([key, names]) => [key, t(key, Object.fromEntries(names.map((name) => [name, `{${name}}`])))]);
  const keys = new Set(photos.flatMap((photo) => photo.marks.flatMap((mark) => mark.itemKey ?? [])));
  const items = Object.fromEntries([...keys].map((key) => [key, itemTitle(key)]));
  return { ...Object.fromEntries([...plain, ...filled]), labels: markLabels(), items } as PairWords; // one entry for every key of both lists
}
