import "server-only";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import type { GivenVerdict } from "@/lib/domain/answering/check-answer";
import { theRest, type ChecklistRow } from "@/lib/domain/answering/checklist";
import { ok, refuse, type Result } from "@/lib/domain/result";
import type { SetupSides } from "@/lib/domain/setup/setup-sides";
import { VERDICTS } from "@/lib/domain/setup/vocabulary";
import { joined, offerCue } from "@/lib/domain/words/cue";
import { say } from "@/lib/messages/say";
import { libraryOf, type LibraryCue } from "@/lib/records/cues";

/** What was judged, of which exercise and by which set-up. */
type Judged = { readonly exerciseKey: string; readonly setup: SetupSides; readonly rows: readonly ChecklistRow[] };

/**
 * The verdicts a checklist means; fields go by `verdict.ITEM`, `cue.ITEM` (a cue of the library by its
 * id), `words.ITEM`, and `rest`. A cue is filled here, from the library as it is now; one retired
 * meanwhile still counts. Refused: `cue-changed-since` (other words than were read, by `cuesReadAt`),
 * `form-invalid` (no such cue), and what `offerCue` refuses.
 */
export async function givenVerdicts(actor: Actor, { exerciseKey, setup, rows }: Judged, one: (name: string) => string, now: number): Promise<Result<readonly GivenVerdict[]>> {
  const library = await libraryOf(await grant(actor, "cues.read", null), exerciseKey, now);
  const readAt = Number(one("cuesReadAt") || 0);
  const given: GivenVerdict[] = [];
  for (const { item: { key: itemKey } } of rows) {
    const verdict = VERDICTS.find((each) => each === one(`verdict.${itemKey}`));
    if (verdict !== "fix") {
      if (verdict) given.push({ itemKey, verdict, cue: null, cueId: null });
      continue;
    }
    const field = `cue.${itemKey}`;
    const cueId = isChosen(one(field)) ? one(field) : null;
    const chosen = cueId === null ? ok("") : saidBy(library.find((cue) => cue.itemKey === itemKey && cue.id === cueId), setup, readAt, field);
    if (!chosen.ok) return chosen;
    const cue = joined(chosen.value, one(`words.${itemKey}`).trim());
    given.push({ itemKey, verdict, cue: cue === "" ? null : cue, cueId });
  }
  const covered = one("rest") === "yes" ? theRest(rows, given.map((each) => each.itemKey)) : [];
  return ok([...given, ...covered.map((itemKey): GivenVerdict => ({ itemKey, verdict: "in-place", cue: null, cueId: null }))]);
}

export const NO_CUE = "none";
const isChosen = (value: string): boolean => value !== "" && value !== NO_CUE;

function saidBy(cue: LibraryCue | undefined, setup: SetupSides, readAt: number, field: string): Result<string> {
  if (!cue) return refuse("form-invalid", { field });
  // What the family gets is what the therapist read, word for word.
  if (cue.changedAt !== null && cue.changedAt >= readAt) return refuse("cue-changed-since", { field });
  const offered = offerCue(cue.words, setup, (side) => say("common")("side", { side }));
  return offered.ok ? offered : refuse(offered.problem.code, { field, ...(offered.problem.values ? { values: offered.problem.values } : {}) });
}
