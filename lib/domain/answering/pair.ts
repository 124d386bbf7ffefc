import type { View } from "@/lib/domain/setup/vocabulary";

/** At most so many pairs go with one answer: more is an album, and none of it is looked at. */
export const PAIRS_LIMIT = 4;
/** The answering form's fields that hold them, each `THEN:NOW`. */
export const PAIR_FIELDS = Array.from({ length: PAIRS_LIMIT }, (_, at) => `pair.${at + 1}`);

/** What is known of a photo that may stand beside another one of the same child and exercise. */
export type PairPhoto = {
  readonly photoId: string;
  readonly view: View;
  /** When it was taken, where its file proves it, else when it was sent; epoch ms. */
  readonly at: number;
  /** It came mirror-reversed and was turned back. */
  readonly isTurnedBack: boolean;
  /** The sides of the set-up it was sent under; opaque. */
  readonly sidesKey: string;
  /** The answer in force to its set judged a stop item as fix: nobody may lie like this. */
  readonly isStopped: boolean;
};

/** Two photos by their ids, the earlier one first. */
export type PairIds = { readonly thenPhotoId: string; readonly nowPhotoId: string };

/** As one field of the answering form holds it; what is no pair reads as ids of nothing. */
export const spellPair = ({ thenPhotoId, nowPhotoId }: PairIds): string => `${thenPhotoId}:${nowPhotoId}`;
export function readPair(text: string): PairIds {
  const [thenPhotoId = "", nowPhotoId = ""] = text.split(":");
  return { thenPhotoId, nowPhotoId };
}

export const PAIR_WARNINGS = ["views-differ", "turned-back", "sides-changed"] as const;
export type PairWarning = (typeof PAIR_WARNINGS)[number];

/** Why two photos show less than they seem to beside each other. */
export function pairWarnings(one: PairPhoto, other: PairPhoto): readonly PairWarning[] {
  const holds: Readonly<Record<PairWarning, boolean>> = {
    "views-differ": one.view !== other.view,
    "turned-back": one.isTurnedBack || other.isTurnedBack,
    "sides-changed": one.sidesKey !== other.sidesKey,
  };
  return PAIR_WARNINGS.filter((warning) => holds[warning]);
}

/** The earlier one first, whichever way they stand; of one moment, as they stand. */
export const inTime = <P extends PairPhoto>(one: P, other: P): readonly [P, P] => (other.at < one.at ? [other, one] : [one, other]);

/** What may stand beside a photo: those of its view first, each group in the order given. */
export function besides<P extends PairPhoto>(photos: readonly P[], beside: PairPhoto): { readonly sameView: readonly P[]; readonly otherViews: readonly P[] } {
  const others = photos.filter((photo) => photo.photoId !== beside.photoId);
  return { sameView: others.filter((photo) => photo.view === beside.view), otherViews: others.filter((photo) => photo.view !== beside.view) };
}

/**
 * The two to begin with: those asked for, else the newest photo and the newest earlier one, of the
 * same view where there is one. `photos` newest first; null while there are not two.
 */
export function firstPair<P extends PairPhoto>(photos: readonly P[], thenId: string | undefined, nowId: string | undefined): readonly [P, P] | null {
  const asked = (id: string | undefined) => photos.find((photo) => photo.photoId === id);
  const now = asked(nowId) ?? photos.find((photo) => photo.photoId !== thenId);
  if (!now) return null;
  const { sameView, otherViews } = besides(photos, now);
  const nearest = (some: readonly P[]) => some.find((photo) => photo.at < now.at);
  const chosen = asked(thenId);
  const then = chosen && chosen !== now ? chosen : nearest(sameView) ?? nearest(otherViews) ?? sameView[0] ?? otherViews[0];
  return then ? [then, now] : null;
}
