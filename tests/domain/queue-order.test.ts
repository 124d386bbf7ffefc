import * as fc from "fast-check";
import { describe, expect, it } from "vitest";
import { checklist, theRest } from "@/lib/domain/answering/checklist";
import { nextAfter, queueOrder, type Waiting } from "@/lib/domain/answering/queue-order";
import { SIDE_LYING } from "@/lib/domain/setup/side-lying";
import { VIEWS } from "@/lib/domain/setup/vocabulary";

const waiting = (id: string, change: Partial<Waiting> = {}): Waiting => ({ id, symptom: null, sentAt: 0, dueAt: 1000, ...change });

describe("the order to answer in", () => {
  it("is danger, then overdue, then due time, then arrival", () => {
    const now = 500;
    const all = [
      waiting("no-due", { dueAt: null }), waiting("later", { dueAt: 900 }), waiting("soon", { dueAt: 501 }), waiting("overdue-less", { dueAt: 400 }),
      waiting("overdue", { dueAt: 10 }), waiting("today", { symptom: "today", dueAt: null }), waiting("urgent", { symptom: "urgent", dueAt: 2000 }),
      waiting("later-came-first", { dueAt: 900, sentAt: -1 }), waiting("no-due-came-first", { dueAt: null, sentAt: -1 }),
    ];
    expect(queueOrder(all, now).map((each) => each.id)).toEqual([
      "urgent", "today", "overdue", "overdue-less", "soon", "later-came-first", "later", "no-due-came-first", "no-due",
    ]);
  });

  it("does not depend on the order they came in", () => {
    const any = fc.array(fc.record({
      id: fc.uuid(), symptom: fc.constantFrom(null, "urgent" as const, "today" as const), sentAt: fc.integer({ min: 0, max: 5 }),
      dueAt: fc.option(fc.integer({ min: 0, max: 9 }), { nil: null }),
    }), { maxLength: 12 });
    fc.assert(fc.property(any, fc.integer({ min: 0, max: 9 }), (all, now) => {
      expect(queueOrder(all.toReversed(), now).map((each) => each.id)).toEqual(queueOrder(all, now).map((each) => each.id));
    }));
  });

  it("goes on to the next one, from the top after the last", () => {
    const all = [waiting("a"), waiting("b"), waiting("c")];
    expect(["a", "b", "c", "gone"].map((id) => nextAfter(all, id)?.id)).toEqual(["b", "c", "a", "a"]);
    expect(nextAfter([waiting("a")], "a")).toBeNull();
  });
});

describe("the checklist", () => {
  it("always asks every stop item, and covers none of them with the rest", () => {
    fc.assert(fc.property(fc.subarray([...VIEWS], { minLength: 1 }), fc.constantFrom(...SIDE_LYING.phases), (views, phase) => {
      const rows = checklist(SIDE_LYING.items, phase, { kind: "photos", views });
      const stops = SIDE_LYING.items.filter((item) => item.isStop).map((item) => item.key);
      expect(rows.filter((row) => row.isAsked).map((row) => row.item.key)).toEqual(expect.arrayContaining(stops));
      expect(theRest(rows, []).filter((key) => stops.includes(key))).toEqual([]);
    }));
  });

  it("asks what phase and views show: an item that only a clip shows is not asked of a photo", () => {
    const asked = (phase: "position" | "breath" | "movement", views: readonly ("behind" | "front" | "head-end" | "other")[]) =>
      checklist(SIDE_LYING.items, phase, { kind: "photos", views }).filter((row) => row.isAsked).map((row) => row.item.key);
    // PRODUCT, section 3, the views of each item.
    expect(asked("position", ["head-end"])).toEqual(["side-down", "prop-low-back", "prop-ribs", "stacked", "head-neck", "bottom-arm-long", "elbow-high"]);
    expect(asked("breath", ["behind"])).not.toContain("ribs-wide");
    expect(asked("movement", ["behind"])).toContain("leg-reach");
    expect(asked("position", ["behind"])).not.toContain("leg-reach");
    // A clip opens them, seen from where they show.
    const moving = (clipViews: readonly ("behind" | "front" | "head-end")[]) => checklist(SIDE_LYING.items, "movement", { kind: "photos", views: ["head-end", ...clipViews], clipViews });
    const of = (rows: ReturnType<typeof moving>, isAsked: boolean) => rows.filter((row) => row.isAsked === isAsked).map((row) => row.item.key);
    expect(of(moving(["behind"]), true)).toEqual(expect.arrayContaining(["ribs-wide", "shoulder-blade-forward", "leg-reach"]));
    expect(of(moving(["front"]), true)).toContain("ribs-wide");
    expect(of(moving(["front"]), false)).toContain("shoulder-blade-forward");
    expect(moving([]).map((row) => row.item.key)).not.toContain("shoulder-blade-forward");
    const live = checklist(SIDE_LYING.items, "breath", { kind: "live" }).map((row) => row.item.key);
    expect(live).toContain("ribs-wide");
    expect(live).not.toContain("leg-reach");
  });
});
