import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { eq } from "drizzle-orm";
import { database } from "@/db/client";
import { curveRecords } from "@/db/schema/care";
import { people } from "@/db/schema/practice";
import { grant } from "@/lib/access/grant";
import { claimSet } from "@/lib/records/claims";
import { saveDraft } from "@/lib/records/drafts";
import { queueOf } from "@/lib/records/queue";
import { answerReadBack, openReadBacks } from "@/lib/records/read-backs";
import { RECORD } from "@/tests/domain/curve-record-scene";
import { addSet, addSymptom, answeringWorld, EXERCISE, HOUR, NOW, send, verdictsOf } from "@/tests/records/answering-scene";
import { done } from "@/tests/records/desk-scene";

let world: ReturnType<typeof answeringWorld>;
beforeEach(() => {
  world = answeringWorld();
});
afterEach(() => world.close());

const queue = async (now = NOW, who = world.therapist) => queueOf(await grant(who, "queue.read", null), now);
const sets = async (now = NOW, who = world.therapist) => (await queue(now, who)).rows.filter((row) => row.kind === "photo-set");
const flagsOf = async (id: string, now = NOW) => (await sets(now)).find((row) => row.id === id)?.flags;

describe("to answer", () => {
  it("puts open symptoms first, then what is overdue, then what is due soonest", async () => {
    // Promised 8 working hours of days that run 09:00 to 17:00; now is Wednesday 10:00. Worked by hand.
    addSet("due-today-five", { childId: "child-1", sentAt: NOW - HOUR });
    addSet("due-today-eleven", { childId: "child-1", sentAt: Date.UTC(2026, 2, 3, 11) });
    addSet("overdue", { childId: "child-1", sentAt: Date.UTC(2026, 2, 2, 16) });
    addSet("with-symptom", { childId: "child-3", sentAt: NOW - 1 });
    addSet("urgent", { childId: "child-2", sentAt: NOW - 2 });
    addSymptom("dizzy", "child-3", "today", NOW - 5 * HOUR);
    addSymptom("numb", "child-2", "urgent", NOW - HOUR);
    database().update(people).set({ phone: "+44 20 7946 0000" }).where(eq(people.id, "mother")).run();
    const { symptoms, rows, ...figures } = await queue();
    expect(rows.map((row) => row.id)).toEqual(["urgent", "with-symptom", "overdue", "due-today-eleven", "due-today-five"]);
    expect(symptoms.map((row) => [row.childId, row.carers.map((carer) => carer.phone)])).toEqual([["child-2", ["+44 20 7946 0000"]], ["child-3", [null]]]);
    expect(figures).toEqual({ page: 1, pages: 1, counts: { all: 5, overdue: 1, symptom: 2, mine: 0 }, onFamily: [], onFamilyCount: 0, oldestSentAt: Date.UTC(2026, 2, 2, 16), overdue: 1, dueToday: 2 });
    const at = (id: string) => rows.find((row) => row.id === id);
    expect(at("overdue")).toMatchObject({ isOverdue: true, dueAt: Date.UTC(2026, 2, 3, 16), leftMs: 2 * HOUR, leftShare: 0 });
    expect(at("due-today-eleven")).toMatchObject({ isOverdue: false, dueAt: Date.UTC(2026, 2, 4, 11), leftMs: HOUR, leftShare: 0.125 });
    expect((await sets()).filter((row) => row.childId === "child-1").map((row) => row.nth)).toEqual([1, 2, 3]);
    expect(at("urgent")).toMatchObject({ photos: 3, nth: 1, exerciseKey: EXERCISE, pattern: { key: "thoracic-right+lumbar-left" } });
  });

  it("shows a symptom without any photo", async () => {
    addSymptom("numb", "child-1", "urgent", NOW - HOUR);
    const { symptoms, rows } = await queue();
    expect([symptoms.map((row) => row.childId), rows]).toEqual([["child-1"], []]);
  });

  it("says who is answering, and what is mine", async () => {
    addSet("claimed");
    addSet("drafted");
    const granted = await grant(world.colleague, "answer.write", "child-1");
    done(await claimSet(granted, "claimed", false, NOW));
    done(await saveDraft(granted, "drafted", { fields: { summary: "x" }, version: 0 }, NOW));
    const mine = async (who = world.therapist) => Object.fromEntries((await sets(NOW + 1, who)).map((row) => [row.id, [row.claim?.name ?? null, row.isMine]]));
    expect(await mine()).toEqual({ claimed: ["colleague", false], drafted: [null, false] });
    expect(await mine(world.colleague)).toEqual({ claimed: ["colleague", true], drafted: [null, true] });
    // Taken over by another: still mine to find by my draft, and never said to be answered by me.
    done(await claimSet(await grant(world.therapist, "answer.write", "child-1"), "drafted", true, NOW));
    expect((await sets(NOW + 1, world.colleague)).find((row) => row.id === "drafted")).toMatchObject({ isMine: true, claim: { name: "therapist", isMine: false } });
  });

  it("flags what needs a second look", async () => {
    addSet("plain", { hash: "00000000ffffffff" });
    expect(await flagsOf("plain")).toEqual([]);
    addSet("odd", { mirrored: true, isOld: true });
    expect(await flagsOf("odd")).toEqual(["mirrored", "old-photo"]);
    addSet("again", { hash: "00000000fffffffe" });
    expect(await flagsOf("again")).toEqual(["same-picture"]);
    addSet("for-another", { childId: "child-3", hash: "00000000ffffffff" });
    expect(await flagsOf("for-another")).toEqual(["same-picture-other-child"]);
    // Reassessment is due by 10 August 2026, that day included.
    expect(await flagsOf("plain", Date.UTC(2026, 7, 10, 22))).not.toContain("reassessment-due");
    expect(await flagsOf("plain", Date.UTC(2026, 7, 10, 23))).toContain("reassessment-due");
    database().insert(curveRecords).values({
      id: "new", childId: "child-3", familyId: "family-b", record: JSON.stringify(RECORD), patternKey: "p", recordedBy: "lead", recordedAt: NOW, sequence: 2,
    }).run();
    expect(await flagsOf("for-another")).toContain("setup-changed");
  });

  it("flags a stop until every carer has read all of it back", async () => {
    addSet("stopped", { check: "cannot-tell" });
    done(await send(world.therapist, "stopped", { verdicts: verdictsOf("in-place", { "side-down": "fix", "prop-low-back": "fix" }) }));
    addSet("next", { sentAt: NOW });
    const right = { side: "left", prop: "low-back", practise: "no" } as const;
    const readBack = async (who: typeof world.mother, count: number) => {
      const granted = await grant(who, "read-back.answer", "child-1");
      for (const asked of (await openReadBacks(granted, NOW + 1)).asked.slice(0, count)) done(await answerReadBack(granted, { ...asked, choice: right[asked.question] }, NOW + 1));
    };
    expect(await flagsOf("next")).toEqual(["stop-not-read-back"]);
    await readBack(world.mother, 2);
    expect(await flagsOf("next")).toEqual(["stop-not-read-back"]);
    await readBack(world.father, 1);
    expect(await flagsOf("next")).toEqual(["stop-not-read-back"]);
    await readBack(world.father, 1);
    expect(await flagsOf("next")).toEqual([]);
  });

  it("leaves out what is answered", async () => {
    addSet("answered");
    done(await send(world.therapist, "answered"));
    addSet("open");
    expect((await queue()).rows.map((row) => row.id)).toEqual(["open"]);
  });
});
