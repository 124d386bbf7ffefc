import * as fc from "fast-check";
import { expect, test } from "vitest";
import { grant } from "@/lib/access/grant";
import { amendAnswer } from "@/lib/records/amendments";
import { sendAnswer } from "@/lib/records/answers";
import { historyOf } from "@/lib/records/answers-read";
import { answerTimes } from "@/lib/records/answer-times";
import { queueOf } from "@/lib/records/queue";
import { standingOf } from "@/lib/records/standing";
import { takeBackAnswer } from "@/lib/records/take-back";
import { addSet, answer, answeringWorld, EXERCISE, NOW, verdictsOf } from "@/tests/records/answering-scene";

const SETS = ["one", "two", "three"] as const;
type Said = "in-place" | "fix" | "not-visible";
type Step =
  | { readonly do: "send" | "amend"; readonly set: (typeof SETS)[number]; readonly elbow: Said; readonly isStop: boolean }
  | { readonly do: "take-back"; readonly set: (typeof SETS)[number] }
  | { readonly do: "wait"; readonly ms: number };

const set = fc.constantFrom(...SETS);
const elbow = fc.constantFrom<Said>("in-place", "fix", "not-visible");
const step: fc.Arbitrary<Step> = fc.oneof(
  fc.record({ do: fc.constant("send" as const), set, elbow, isStop: fc.boolean() }),
  fc.record({ do: fc.constant("amend" as const), set, elbow, isStop: fc.boolean() }),
  fc.record({ do: fc.constant("take-back" as const), set }),
  fc.record({ do: fc.constant("wait" as const), ms: fc.constantFrom(1, 29_999, 30_000, 30_001) }),
);

/** The rule of PRODUCT, sections 5 and 7, said again by hand: what each set was told, in order, and when it is out. */
type Told = { readonly id: string; readonly at: number; readonly out: number; readonly elbow: Said; readonly isStop: boolean };

class Plain {
  /** By set, in the order of their first answer that stands. */
  readonly told = new Map<string, Told[]>();

  versions = (of: string): Told[] => this.told.get(of) ?? [];

  maySend = (of: string): boolean => this.versions(of).length === 0;

  mayAmend(of: string, now: number): boolean {
    const last = this.versions(of).at(-1);
    return last !== undefined && last.out <= now;
  }

  mayTakeBack(of: string, now: number): boolean {
    const last = this.versions(of).at(-1);
    return last !== undefined && last.out > now;
  }

  say(of: string, told: Told): void {
    const before = this.versions(of);
    if (before.length === 0) this.told.delete(of);
    this.told.set(of, [...before, told]);
  }

  unsay(of: string): void {
    this.told.set(of, this.versions(of).slice(0, -1));
  }

  inForce = (of: string, now: number): Told | undefined => this.versions(of).findLast((each) => each.out <= now);
}

test("whatever is sent, taken back and amended, the newest published version of each set counts, and nothing else", async () => {
  let compared = 0;
  await fc.assert(fc.asyncProperty(fc.array(step, { minLength: 4, maxLength: 14 }), async (steps) => {
    const world = answeringWorld();
    try {
      for (const id of SETS) addSet(id, { check: "cannot-tell" });
      const plain = new Plain();
      const write = await grant(world.therapist, "answer.write", "child-1");
      const read = await grant(world.mother, "child.read", "child-1");
      let now = NOW;
      for (const each of steps) {
        if (each.do === "wait") now += each.ms;
        else if (each.do === "take-back") {
          const last = plain.versions(each.set).at(-1);
          const result = await takeBackAnswer(write, last?.id ?? "none", now);
          expect(result.ok).toBe(plain.mayTakeBack(each.set, now));
          if (result.ok) plain.unsay(each.set);
        } else {
          const input = answer(each.set, { verdicts: verdictsOf("in-place", { "elbow-high": each.elbow, "side-down": each.isStop ? "fix" : "in-place" }) });
          const basedOn = plain.versions(each.set).at(-1)?.id ?? "none";
          const result = each.do === "send" ? await sendAnswer(write, input, now) : await amendAnswer(write, input, { basedOn, reason: "Looked at again." }, now);
          expect(result.ok).toBe(each.do === "send" ? plain.maySend(each.set) : plain.mayAmend(each.set, now));
          if (result.ok) plain.say(each.set, { id: result.value.answerId, at: now, out: each.isStop ? now : now + 30_000, elbow: each.elbow, isStop: each.isStop });
        }
        await compare(plain, now);
        compared += 1;
      }
      await compareClocks(plain, now);

      async function compare(by: Plain, at: number): Promise<void> {
        const entries = await historyOf(read, EXERCISE, at);
        for (const id of SETS) {
          const entry = entries.find((one) => one.photoSetId === id);
          expect(entry?.answer?.answerId).toBe(by.inForce(id, at)?.id);
          const before = by.versions(id).filter((one) => one.out <= at).slice(0, -1).map((one) => one.id).toReversed();
          expect(entry?.earlier.map((one) => one.answerId)).toEqual(before);
        }
        const standing = await standingOf(read, EXERCISE, at);
        const counted = [...by.told.keys()].flatMap((id) => by.inForce(id, at) ?? []);
        expect(standing.ledger.find((row) => row.itemKey === "elbow-high")?.entries.map((one) => one.verdict)).toEqual(counted.map((one) => one.elbow));
        // No photo here is newer than any answer, so a stop in force is never lifted.
        expect(standing.overall === "stop").toBe(counted.some((one) => one.isStop));
      }

      async function compareClocks(by: Plain, at: number): Promise<void> {
        const waiting = (await queueOf(await grant(world.therapist, "queue.read", null), at)).rows.map((row) => row.id).sort();
        expect(waiting).toEqual(SETS.filter((id) => by.maySend(id)).sort());
        expect((await answerTimes(await grant(world.lead, "times.read", null), "week", at)).waiting).toBe(waiting.length);
      }
    } finally {
      world.close();
    }
  }), { numRuns: 12 });
  expect(compared).toBeGreaterThan(45);
});
