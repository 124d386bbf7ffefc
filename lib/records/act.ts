import "server-only";
import { and, eq } from "drizzle-orm";
import { database, type Transaction } from "@/db/client";
import { actsDone } from "@/db/schema/machinery";
import type { Actor } from "@/lib/access/actor";
import { reachesStill } from "@/lib/access/care-reach";
import { appendAudit } from "@/lib/audit/append";
import { refuse, type Result } from "@/lib/domain/result";

/** What a grant of any scope offers to an act. */
type Granted = { readonly actor: Actor; readonly once: string | null; readonly familyId?: string; readonly childId?: string };

/** Carries a refusal out of the transaction, so that nothing half-written stays. */
class Refused extends Error {
  constructor(readonly result: { readonly ok: false; readonly problem: never }) {
    super("refused");
  }
}

/**
 * One act: one short IMMEDIATE transaction holding the change, its audit entry and, through `change`,
 * its outgoing notices. A refusal rolls everything back. With the grant's `once` key, a repeated
 * act answers what it answered first and changes nothing. A carer whose reach of the child ended since the
 * grant was made (a photo takes seconds to open) is refused with `care-ended`. `T` must survive JSON.
 */
export function act<T>(
  granted: Granted,
  name: string,
  now: number,
  change: (tx: Transaction) => Result<{ readonly objectId: string; readonly value: T }>,
): Result<T> {
  try {
    return database().transaction((tx) => {
      if (granted.childId !== undefined && !reachesStill(granted.actor, granted.childId)) throw new Refused(refuse("care-ended") as { ok: false; problem: never }); // as below
      const done = granted.once === null ? null : firstAnswer<T>(tx, granted.actor.personId, granted.once, name);
      if (done) return done;
      const changed = change(tx);
      if (!changed.ok) throw new Refused(changed as { ok: false; problem: never }); // rethrown unchanged below
      const result: Result<T> = { ok: true, value: changed.value.value };
      appendAudit(tx, {
        at: now, actorId: granted.actor.personId, role: granted.actor.role, act: name,
        objectId: changed.value.objectId, familyId: granted.familyId ?? null, outcome: "done",
        requestId: granted.actor.requestId, sessionHash: granted.actor.sessionId,
      });
      if (granted.once !== null) {
        tx.insert(actsDone).values({
          personId: granted.actor.personId, key: granted.once, act: name, result: JSON.stringify(result.value ?? null), doneAt: now,
        }).run();
      }
      return result;
    }, { behavior: "immediate" });
  } catch (error) {
    if (error instanceof Refused) return error.result;
    throw error;
  }
}

function firstAnswer<T>(tx: Transaction, personId: string, key: string, name: string): Result<T> | null {
  const row = tx.select({ act: actsDone.act, result: actsDone.result }).from(actsDone)
    .where(and(eq(actsDone.personId, personId), eq(actsDone.key, key))).get();
  if (!row) return null;
  // One key for two different acts is a broken client, never a repeat.
  if (row.act !== name) return { ok: false, problem: { code: "form-invalid" } };
  return { ok: true, value: JSON.parse(row.result) as T }; // written by this function from a T
}
