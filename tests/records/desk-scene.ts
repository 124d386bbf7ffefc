import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import type { Confirmations, CurveRecordDraft } from "@/lib/domain/curve/check-record";
import { recordCurve } from "@/lib/records/curve-records";
import { draft, SAID } from "@/tests/domain/curve-record-scene";
import { addFamilyOf, addPerson, makeWorld } from "@/tests/records/world";

/** Monday 2 March 2026, 10:00 in London. */
export const NOW = Date.UTC(2026, 2, 2, 10);
export const EXERCISE = "side-lying";

/** Two families and everyone who may or may not touch them. */
export function deskWorld() {
  const world = makeWorld();
  const people = {
    lead: addPerson("lead", "lead"), therapist: addPerson("therapist", "therapist"),
    mother: addPerson("mother", "guardian"), stranger: addPerson("stranger", "guardian"),
  };
  addFamilyOf("family-a", ["child-1", "child-2"], { mother: ["child-1", "child-2"] });
  addFamilyOf("family-b", ["child-3"], { stranger: ["child-3"] });
  return { ...people, outsider: { ...people.therapist, practiceId: "elsewhere" }, close: () => world.close() };
}

/** Enters a record as the form would; by default the common double pattern, with all said. */
export async function enter(actor: Actor, childId: string, change: {
  readonly draft?: CurveRecordDraft;
  readonly said?: Confirmations;
  readonly basedOn?: string | null;
  readonly now?: number;
} = {}) {
  return recordCurve(await grant(actor, "curve-record.write", childId), {
    draft: change.draft ?? draft(), said: change.said ?? SAID, note: "", basedOn: change.basedOn ?? null,
  }, change.now ?? NOW);
}

/** The value of a result that must be one. */
export function done<T>(result: { readonly ok: true; readonly value: T } | { readonly ok: false; readonly problem: { readonly code: string } }): T {
  if (!result.ok) throw new Error(result.problem.code);
  return result.value;
}

export const codeOf = (result: { readonly ok: boolean; readonly problem?: { readonly code: string } }): string => result.problem?.code ?? "done";

export const refused = async (work: Promise<unknown>): Promise<string> =>
  work.then(() => "granted", (error: unknown) => (error instanceof Error ? error.message : "?"));
