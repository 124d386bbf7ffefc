import * as fc from "fast-check";
import { afterAll, beforeAll, expect, test, vi } from "vitest";
import { database } from "@/db/client";
import { children, families } from "@/db/schema/care";
import { practices } from "@/db/schema/practice";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import type { Ability } from "@/lib/domain/policy/policy";
import { decideAgreement, recordAgreement } from "@/lib/records/care-agreements";
import { readCarers } from "@/lib/records/carers";
import { endCare } from "@/lib/records/family-carers";
import { inviteGuardian } from "@/lib/records/invitations";
import { addPerson, makeWorld } from "@/tests/records/world";

const PEOPLE = ["mother", "father", "young", "client"] as const;
const CHILDREN = ["elder", "younger"] as const;
type Who = (typeof PEOPLE)[number];
type Child = (typeof CHILDREN)[number];
const isYoung = (who: Who): boolean => who === "young" || who === "client";

/** Born so that both age lines are crossed within the years a run takes. */
const BORN: Readonly<Record<Child, readonly [year: number, month: number]>> = { elder: [2009, 12], younger: [2011, 2] };

type Step =
  | { readonly do: "invite" | "end" | "record-agreed" | "record-represents" | "record-ended"; readonly who: Who; readonly child: Child }
  | { readonly do: "agree" | "take-back"; readonly by: Who; readonly who: Who; readonly child: Child }
  | { readonly do: "months"; readonly n: number }
  | { readonly do: "age"; readonly own: number };

const who = fc.constantFrom(...PEOPLE);
const child = fc.constantFrom(...CHILDREN);
const step: fc.Arbitrary<Step> = fc.oneof(
  { weight: 4, arbitrary: fc.record({ do: fc.constant("invite" as const), who, child }) },
  { weight: 2, arbitrary: fc.record({ do: fc.constant("end" as const), who, child }) },
  { weight: 2, arbitrary: fc.record({ do: fc.constantFrom("record-agreed" as const, "record-represents" as const, "record-ended" as const), who, child }) },
  { weight: 2, arbitrary: fc.record({ do: fc.constantFrom("agree" as const, "take-back" as const), by: who, who, child }) },
  { weight: 3, arbitrary: fc.record({ do: fc.constant("months" as const), n: fc.integer({ min: 1, max: 14 }) }) },
  { weight: 1, arbitrary: fc.record({ do: fc.constant("age" as const), own: fc.integer({ min: 14, max: 18 }) }) },
);

/** The plain model: sets of links, the last word on each guardian, and months since year 0. */
class Model {
  readonly links = new Set<string>();
  readonly said = new Map<string, string>();
  month = 2024 * 12;
  own = 16;
  /** Birthdays are certain a month late. */
  years = (of: Child): number => Math.floor((this.month - (BORN[of][0] * 12 + BORN[of][1])) / 12);
  reach(person: Who, of: Child): "none" | "practise" | "decide" {
    if (!this.links.has(`${person} ${of}`)) return "none";
    const isAdult = this.years(of) >= 18;
    if (isYoung(person)) return isAdult ? "decide" : this.years(of) >= this.own ? "practise" : "none";
    const said = this.said.get(`${person} ${of}`);
    if (!isAdult) return "decide";
    return said === "represents" ? "decide" : said === "agreed" ? "practise" : "none";
  }
}

let world: ReturnType<typeof makeWorld>;
let lead: Actor;
beforeAll(() => {
  world = makeWorld();
  lead = addPerson("lead", "lead");
  vi.useFakeTimers({ toFake: ["Date"] });
});
afterAll(() => {
  vi.useRealTimers();
  world.close();
});

const has = async (actor: Actor, ability: Ability, id: string): Promise<boolean> => grant(actor, ability, id).then(() => true, () => false);

test("no link, no access, ever: links, ages and agreements in any order come to what the plain model says", async () => {
  let run = 0;
  await fc.assert(fc.asyncProperty(fc.array(step, { minLength: 4, maxLength: 18 }), async (steps) => {
    run += 1;
    const id = (name: string): string => `${name}-${run}`;
    const model = new Model();
    let ticks = 0;
    const clock = (): void => void vi.setSystemTime(Date.UTC(Math.floor(model.month / 12), model.month % 12, 2, 12) + (ticks += 1));
    clock();
    database().update(practices).set({ ownSignInAge: model.own }).run();
    const actors = new Map(PEOPLE.map((person) => [person, addPerson(id(person), isYoung(person) ? "young-person" : "guardian")]));
    database().insert(families).values({ id: id("family"), practiceId: "practice", name: "Family", createdAt: 0 }).run();
    for (const each of CHILDREN) {
      const [year, month] = BORN[each];
      database().insert(children).values({ id: id(each), familyId: id("family"), givenName: each, bornIn: `${year}-${String(month).padStart(2, "0")}`, createdAt: 0 }).run();
    }
    for (const each of steps) {
      await walk(each, model, id, actors);
      clock();
      for (const person of PEOPLE) {
        for (const of of CHILDREN) {
          const actor = actors.get(person);
          if (!actor) throw new Error("nobody");
          const reach = model.reach(person, of);
          const tell = `${JSON.stringify(each)}: ${person} to ${of}`;
          expect(await has(actor, "child.read", id(of)), tell).toBe(reach !== "none");
          expect(await has(actor, "consent.give", id(of)), tell).toBe(reach === "decide");
          expect(await has(actor, "care.agree", id(of)), tell).toBe(reach === "decide" && isYoung(person));
          expect(await has(actor, "answer.write", id(of)), tell).toBe(false);
        }
      }
      // Who is written to is who may look.
      for (const of of CHILDREN) {
        const told = readCarers({ childId: id(of), familyId: id("family") }, Date.now()).map((carer) => carer.personId).sort();
        expect(told).toEqual(PEOPLE.filter((person) => model.reach(person, of) !== "none").map(id).sort());
      }
      const noLink = PEOPLE.filter((person) => CHILDREN.every((of) => !model.links.has(`${person} ${of}`)));
      for (const person of noLink) expect(await has(actors.get(person) as Actor, "family.read", id("family"))).toBe(false); // made for each
    }
  }), { numRuns: 20 });
}, 120_000);

async function walk(each: Step, model: Model, id: (name: string) => string, actors: ReadonlyMap<Who, Actor>): Promise<void> {
  const now = Date.now();
  const staff = await grant(lead, "family.invite", id("family"));
  switch (each.do) {
    case "months":
      model.month += each.n;
      return;
    case "age":
      model.own = each.own;
      database().update(practices).set({ ownSignInAge: each.own }).run();
      return;
    case "invite": {
      const relation = isYoung(each.who) ? "self" : "guardian";
      const input = { name: id(each.who), email: `${id(each.who)}@people.example`, phone: "", childIds: [id(each.child)], relation, isKnownMeant: true } as const;
      const selves = [...model.links].map((link) => link.split(" ")).filter(([person]) => isYoung(person as Who)); // made of these names
      const isFree = selves.every(([person, of]) => (person === each.who) === (of === each.child));
      const mayBe = !isYoung(each.who) || (model.years(each.child) >= model.own && isFree);
      expect((await inviteGuardian(staff, input, now)).ok, JSON.stringify(each)).toBe(mayBe);
      if (mayBe) model.links.add(`${each.who} ${each.child}`);
      return;
    }
    case "end": {
      const ended = await endCare(staff, { personId: id(each.who), careOf: id(each.child), isLastMeant: true }, now);
      expect(ended.ok).toBe(model.links.delete(`${each.who} ${each.child}`));
      model.said.delete(`${each.who} ${each.child}`);
      return;
    }
    case "record-agreed":
    case "record-represents":
    case "record-ended": {
      const decision = each.do === "record-agreed" ? "agreed" : each.do === "record-represents" ? "represents" : "ended";
      const recorded = await recordAgreement(staff, { guardianId: id(each.who), careOf: id(each.child), decision, note: "Told on the phone" }, now);
      const mayBe = model.links.has(`${each.who} ${each.child}`) && !isYoung(each.who) && model.years(each.child) >= 18;
      expect(recorded.ok, JSON.stringify(each)).toBe(mayBe);
      if (mayBe) model.said.set(`${each.who} ${each.child}`, decision);
      return;
    }
    case "agree":
    case "take-back": {
      const actor = actors.get(each.by);
      const granted = actor ? await grant(actor, "care.agree", id(each.child)).catch(() => null) : null;
      expect(granted !== null).toBe(isYoung(each.by) && model.reach(each.by, each.child) === "decide");
      if (!granted) return;
      const decision = each.do === "agree" ? "agreed" : "ended";
      const decided = await decideAgreement(granted, { guardianId: id(each.who), decision }, now);
      const link = `${each.who} ${each.child}`;
      const mayBe = model.links.has(link) && !isYoung(each.who) && model.said.get(link) !== "represents";
      expect(decided.ok).toBe(mayBe);
      if (mayBe) model.said.set(link, decision);
    }
  }
}
