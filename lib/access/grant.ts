import "server-only";
import { and, eq, sql } from "drizzle-orm";
import { prepared } from "@/db/prepared";
// The whole of next/navigation needs a page around it; commands and the demo ask for grants too.
import { notFound } from "next/dist/client/components/not-found";
import { children, families } from "@/db/schema/care";
import { isStaff, type Actor } from "@/lib/access/actor";
import { linksOf, linkTo } from "@/lib/access/care-reach";
import { noteKeptOut, noteOpened } from "@/lib/access/opened";
import { isEnough, may, POLICY, type Ability, type AbilityIn } from "@/lib/domain/policy/policy";

declare const proof: unique symbol;

type Granted<A extends Ability> = {
  readonly actor: Actor;
  readonly practiceId: string;
  /** The key made in the person's browser for this act; the same key does it once. */
  readonly once: string | null;
  readonly [proof]: A;
};
/** For what is the actor's own and nobody else's. */
export type SelfGrant<A extends AbilityIn<"self">> = Granted<A>;
export type PracticeGrant<A extends AbilityIn<"practice">> = Granted<A>;
export type FamilyGrant<A extends AbilityIn<"family">> = Granted<A> & { readonly familyId: string };
export type ChildGrant<A extends AbilityIn<"child">> = Granted<A> & {
  readonly familyId: string;
  readonly childId: string;
};

/** The grant an ability is made for. */
export type GrantOf<A extends Ability> = A extends AbilityIn<"child">
  ? ChildGrant<A>
  : A extends AbilityIn<"family">
    ? FamilyGrant<A>
    : A extends AbilityIn<"practice">
      ? PracticeGrant<A>
      : A extends AbilityIn<"self">
        ? SelfGrant<A>
        : never;

/**
 * The only maker of a grant. `id` is the family or child the ability is scoped to, and is not used
 * for the practice and oneself. What is absent and what is not theirs end alike, in the not-found page.
 * Pages of words that staff open leave an audit entry here, and so does whoever is refused.
 */
export async function grant<A extends Ability>(
  actor: Actor,
  ability: A,
  id: string | null,
  once: string | null = null,
): Promise<GrantOf<A>> {
  const reach = may(actor.role, ability) ? reachOf(actor, ability, id) : null;
  if (!reach) {
    noteKeptOut(actor, ability, id);
    notFound();
  }
  noteOpened(actor, ability, reach);
  // The one cast that mints a grant: the scope was checked against the database just now.
  return { actor, practiceId: actor.practiceId, once, ...reach } as unknown as GrantOf<A>;
}

type Reach = { readonly familyId?: string; readonly childId?: string };

function reachOf(actor: Actor, ability: Ability, id: string | null): Reach | null {
  const { scope } = POLICY[ability];
  if (scope === "self") return {};
  if (scope === "practice") return isStaff(actor.role) ? {} : null;
  if (!id) return null;
  return scope === "family" ? reachFamily(actor, ability, id) : reachChild(actor, ability, id);
}

const PRACTICE = sql.placeholder("practiceId");
const familyOfPractice = prepared((db) => db.select({ familyId: families.id }).from(families)
  .where(and(eq(families.id, sql.placeholder("familyId")), eq(families.practiceId, PRACTICE))).prepare());
const childOfPractice = prepared((db) => db.select({ childId: children.id, familyId: children.familyId }).from(children)
  .innerJoin(families, eq(families.id, children.familyId))
  .where(and(eq(children.id, sql.placeholder("childId")), eq(families.practiceId, PRACTICE))).prepare());

function reachFamily(actor: Actor, ability: Ability, familyId: string): Reach | null {
  const { practiceId } = actor;
  if (isStaff(actor.role)) return familyOfPractice().get({ familyId, practiceId }) ?? null;
  return linksOf(actor.personId, Date.now()).some((link) => link.familyId === familyId && isEnough(link.reach, ability)) ? { familyId } : null;
}

function reachChild(actor: Actor, ability: Ability, childId: string): Reach | null {
  const { practiceId } = actor;
  if (isStaff(actor.role)) return childOfPractice().get({ childId, practiceId }) ?? null;
  const link = linkTo(actor, childId, Date.now());
  return link && isEnough(link.reach, ability) ? { childId: link.childId, familyId: link.familyId } : null;
}
