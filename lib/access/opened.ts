import "server-only";
import { dataDir } from "@/db/client";
import { isStaff, type Actor } from "@/lib/access/actor";
import { appendAudit } from "@/lib/audit/append";
import { writeReading } from "@/lib/audit/reading";
import { POLICY, readsAs, type Ability } from "@/lib/domain/policy/policy";

/** A page is opened again and again while somebody works with it; so much later it is another opening. The figure is ours. */
const SPAN_MS = 15 * 60_000;
/** Refusals of one sign-in in that time: past it somebody tries doors, and more entries would say no more. */
const MOST_REFUSED = 200;
const MOST_KNOWN = 10_000;
const UUID = /^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$/;

const KNOWN = Symbol.for("trueside.opened");
type Shared = { [KNOWN]?: Map<string, { span: number; count: number }> };

type Reach = { readonly familyId?: string; readonly childId?: string };

/** Writes down that a member of staff opened what is written about a child, a family or many: once for each sign-in and span of time. */
export function noteOpened(actor: Actor, ability: Ability, { childId, familyId }: Reach): void {
  // What runs beside the requests has no sign-in.
  const noun = isStaff(actor.role) && actor.sessionId !== "" ? readsAs(ability) : null;
  if (noun === null) return;
  const objectId = childId ?? familyId ?? actor.practiceId;
  if (timesIn(`${actor.sessionId} ${noun} ${objectId}`) === 1) write(actor, `${noun}.opened`, objectId, familyId ?? null, "done");
}

/** And that somebody was refused what is not theirs or not there. Only what looks like one of our ids is kept of what they asked for. */
export function noteKeptOut(actor: Actor, ability: Ability, id: string | null): void {
  if (actor.sessionId === "") return;
  const objectId = POLICY[ability].scope !== "practice" && id !== null && UUID.test(id) ? id : null;
  if (timesIn(`${actor.sessionId} ${ability} ${objectId ?? ""} refused`) > 1 || timesIn(`${actor.sessionId} refused`) > MOST_REFUSED) return;
  write(actor, ability, objectId, null, "refused");
}

function write({ personId: actorId, role, requestId, sessionId: sessionHash }: Actor, act: string, objectId: string | null, familyId: string | null, outcome: "done" | "refused"): void {
  writeReading((tx) => appendAudit(tx, { at: Date.now(), actorId, role, act, objectId, familyId, outcome, requestId, sessionHash }));
}

/** In memory: after a restart there is one entry more. */
function timesIn(what: string): number {
  const known = ((globalThis as Shared)[KNOWN] ??= new Map()); // a symbol of our own on the global object
  const key = `${dataDir()} ${what}`;
  const span = Math.floor(Date.now() / SPAN_MS);
  const there = known.get(key);
  const count = there?.span === span ? there.count + 1 : 1;
  known.set(key, { span, count });
  if (known.size > MOST_KNOWN) for (const [old, value] of known) if (value.span !== span) known.delete(old);
  return count;
}
