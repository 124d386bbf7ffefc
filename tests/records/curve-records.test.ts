import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { grant } from "@/lib/access/grant";
import type { Confirmations, CurveRecordDraft } from "@/lib/domain/curve/check-record";
import { curveRecordsOf } from "@/lib/records/curve-records";
import { standingOf } from "@/lib/records/standing";
import { curve, draft, NOT_ASSESSED, SAID, withRegions } from "@/tests/domain/curve-record-scene";
import { codeOf, deskWorld, done, enter, EXERCISE, NOW, refused } from "@/tests/records/desk-scene";

let world: ReturnType<typeof deskWorld>;
beforeEach(() => {
  world = deskWorld();
});
afterEach(() => world.close());

const kept = async () => curveRecordsOf(await grant(world.therapist, "child.read", "child-1"));

// Regions and apexes: Scoliosis Research Society definitions (see tests/checks/srs-regions.json); the rest is the product's own contract.
const REFUSALS: readonly (readonly [string, string, CurveRecordDraft, Confirmations])[] = [
  ["no source", "record-incomplete", draft({ source: null }), SAID],
  ["no word on how the film was viewed", "view-not-stated", draft({ filmViewedFrom: null }), SAID],
  ["a film said to be none", "view-not-stated", draft({ filmViewedFrom: "no-film" }), SAID],
  ["an assessment tomorrow", "dates-disagree", draft({ assessedOn: "2026-03-03" }), SAID],
  ["a reassessment before the assessment", "dates-disagree", draft({ reassessBy: "2026-01-01" }), SAID],
  ["a region left open", "record-incomplete", withRegions({ thoracolumbar: null }), SAID],
  ["a curve without a side", "record-incomplete", withRegions({ lumbar: { state: "curve", convexSide: null, apex: "L2", cobbDegrees: 22 } }), SAID],
  ["nothing assessed at all", "record-incomplete",
    withRegions({ "proximal-thoracic": NOT_ASSESSED, thoracic: NOT_ASSESSED, thoracolumbar: NOT_ASSESSED, lumbar: NOT_ASSESSED }), SAID],
  ["ribs not said", "record-incomplete", draft({ prominence: { ribs: null, lowBack: "left" } }), SAID],
  ["an apex of no spine", "apex-unknown", withRegions({ lumbar: { state: "curve", convexSide: "left", apex: "L9", cobbDegrees: 22 } }), SAID],
  ["an apex lists differ on", "apex-ambiguous", withRegions({ lumbar: { state: "curve", convexSide: "left", apex: "L4/5", cobbDegrees: 22 } }), SAID],
  ["a thoracolumbar apex called lumbar", "apex-region-disagree", withRegions({ lumbar: curve("left", "T12") }), SAID],
  ["an angle that is none", "form-invalid", withRegions({ lumbar: curve("left", "L2", Number.NaN) }), SAID],
  ["a small curve without the therapist's word", "curve-under-threshold", withRegions({ lumbar: curve("left", "L2", 9.9) }), SAID],
  ["an unmeasured curve without it", "curve-under-threshold", withRegions({ lumbar: curve("left", "L2", null) }), SAID],
  ["no read-back", "side-not-read-back", draft(), { ...SAID, readBack: {} }],
  ["a read-back of the other side", "side-not-read-back", draft(), { ...SAID, readBack: { thoracic: "left", lumbar: "left" } }],
  ["a film from the front without the picture's side", "picture-side-disagree", draft({ filmViewedFrom: "front" }), SAID],
  ["the picture's side taken for the child's", "picture-side-disagree", draft({ filmViewedFrom: "front" }), { ...SAID, onPicture: { thoracic: "right", lumbar: "left" } }],
  ["ribs that stand out on the other side", "prominence-disagree", draft({ prominence: { ribs: "left", lowBack: "left" } }), SAID],
  ["an uncommon side, not looked at again", "uncommon-unconfirmed",
    { ...withRegions({ thoracic: curve("left", "T8"), lumbar: curve("right", "L2") }), prominence: { ribs: "left", lowBack: "right" } },
    { ...SAID, readBack: { thoracic: "left", lumbar: "right" } }],
];

describe("what a curve record is refused for", () => {
  for (const [what, code, typed, said] of REFUSALS) {
    it(`${what}: ${code}, and nothing is kept`, async () => {
      expect(codeOf(await enter(world.therapist, "child-1", { draft: typed, said }))).toBe(code);
      expect(await kept()).toEqual([]);
    });
  }
});

it("keeps what was read back, and says who and when", async () => {
  const { id } = done(await enter(world.therapist, "child-1"));
  const [view] = await kept();
  expect(view).toMatchObject({ id, recordedAt: NOW, recordedBy: "therapist" });
  expect(view?.record.regions).toMatchObject({ thoracic: { convexSide: "right", apex: "T8" }, lumbar: { convexSide: "left", apex: "L2" } });
});

it("takes a film from the front once the picture's sides are the mirrored ones", async () => {
  const said = { ...SAID, onPicture: { thoracic: "left", lumbar: "right" } } as const;
  expect(codeOf(await enter(world.therapist, "child-1", { draft: draft({ filmViewedFrom: "front" }), said }))).toBe("done");
});

it("takes a warning looked at, and not one of another side", async () => {
  const typed = draft({ prominence: { ribs: "left", lowBack: "left" } });
  const other = { ...SAID, acknowledged: ["ribs-disagree:thoracic:left:right"] };
  expect(codeOf(await enter(world.therapist, "child-1", { draft: typed, said: other }))).toBe("prominence-disagree");
  const looked = { ...SAID, acknowledged: ["ribs-disagree:thoracic:right:left"] };
  expect(codeOf(await enter(world.therapist, "child-1", { draft: typed, said: looked }))).toBe("done");
});

it("refuses one made beside a record that was not on the screen", async () => {
  const first = done(await enter(world.therapist, "child-1"));
  expect(codeOf(await enter(world.lead, "child-1"))).toBe("stale-version");
  const second = done(await enter(world.lead, "child-1", { basedOn: first.id, now: NOW + 1 }));
  expect(codeOf(await enter(world.therapist, "child-1", { basedOn: first.id, now: NOW + 2 }))).toBe("stale-version");
  expect((await kept()).map((view) => view.id)).toEqual([second.id, first.id]);
  expect((await standingOf(await grant(world.therapist, "child.read", "child-1"), EXERCISE, NOW + 3)).record?.id).toBe(second.id);
});

it("stays with its child, and is nobody else's to enter", async () => {
  done(await enter(world.therapist, "child-1"));
  expect(await curveRecordsOf(await grant(world.therapist, "child.read", "child-2"))).toEqual([]);
  for (const who of [world.mother, world.stranger, world.outsider]) expect(await refused(enter(who, "child-1"))).toMatch(/404/);
});
