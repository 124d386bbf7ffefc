import type { ResolvedItem } from "@/lib/domain/setup/resolve";
import { PHASES, type Phase, type View } from "@/lib/domain/setup/vocabulary";

/** What lies before the therapist: a photo set with its views and those of its clips, or the child itself. */
export type Evidence = { readonly kind: "photos"; readonly views: readonly View[]; readonly clipViews?: readonly View[] } | { readonly kind: "live" };

export type ChecklistRow = {
  readonly item: ResolvedItem;
  /** Phase and views ask for it; an item that is only offered may be judged or left. */
  readonly isAsked: boolean;
};

/**
 * The items one answer can judge, earlier phases first, because a later phase is done lying in the
 * position of the earlier ones. A photo offers what a still can show and asks what its views show;
 * what only movement shows is offered where a clip is there, and asked where the clip is seen from where it shows.
 * A stop item is always asked: a view that cannot show it is answered `not-visible`, never skipped.
 */
export function checklist(items: readonly ResolvedItem[], phase: Phase, evidence: Evidence): readonly ChecklistRow[] {
  const upTo = PHASES.slice(0, PHASES.indexOf(phase) + 1);
  return upTo.flatMap((each) => items.filter((item) => item.phase === each)).flatMap((item) => {
    if (evidence.kind === "live") return item.isStop || item.evidence.includes("live") ? [{ item, isAsked: true }] : [];
    const { views, clipViews = [] } = evidence;
    const isInClip = item.evidence.includes("clip") && clipViews.length > 0;
    if (!item.isStop && !item.evidence.includes("still") && !isInClip) return [];
    const seen = [...(item.isStop || item.evidence.includes("still") ? views : []), ...(isInClip ? clipViews : [])];
    return [{ item, isAsked: item.isStop || item.views.some((view) => seen.includes(view)) }];
  });
}

/** What "The rest is in place" covers: asked, not judged yet, and never a stop item. */
export const theRest = (rows: readonly ChecklistRow[], judged: readonly string[]): readonly string[] =>
  rows.flatMap(({ item, isAsked }) => (isAsked && !item.isStop && !judged.includes(item.key) ? [item.key] : []));
