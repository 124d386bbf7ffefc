import { createElement } from "react";
import { renderToStaticMarkup } from "react-dom/server";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { CurveEditor } from "@/app/desk/children/[childId]/curve/curve-editor";
import { draftOf, saidOf, stepOf, type Fields } from "@/app/desk/children/[childId]/curve/draft";
import { editorWords, warningWords } from "@/app/desk/children/[childId]/curve/words";
import { spineLabel } from "@/app/desk/families/words";
import { openWarnings } from "@/lib/domain/curve/record-warnings";
import { curve, RECORD } from "@/tests/domain/curve-record-scene";
import { codeOf, deskWorld, enter } from "@/tests/records/desk-scene";

type Outcome = { readonly problem: { readonly code: string } | null; readonly typed: Fields; readonly isDone: boolean };
const form = vi.hoisted((): { outcome: Outcome } => ({ outcome: { problem: null, typed: {}, isDone: false } }));
vi.mock("@/app/ui/action-form", () => ({ useOutcome: () => form.outcome, useTyped: (name: string) => form.outcome.typed[name] }));

let world: ReturnType<typeof deskWorld>;
beforeEach(() => {
  world = deskWorld();
});
afterEach(() => world.close());

/** Thoracic right, lumbar left, seen from the front, with ribs that stand out on the other side and a small lumbar curve. */
const ENTRY: Fields = {
  source: "radiograph", film: "front", assessedOn: "2026-02-10", reassessBy: "", note: "",
  "proximal-thoracic-is": "none", "thoracic-is": "right", "thoracic-apex": "t8", "thoracic-cobb": "22,5", "thoracolumbar-is": "none",
  "lumbar-is": "left", "lumbar-apex": "L2", "lumbar-cobb": "8", ribs: "left", lowBack: "left",
};
const SAID_BACK: Fields = { "thoracic-again": "right", "thoracic-picture": "left", "lumbar-again": "left", "lumbar-picture": "right", "lumbar-counts": "yes" };

/** Sends the fields as the action does, and gives back what it says and the page that follows. */
async function send(fields: Fields): Promise<{ readonly code: string; readonly open: string; readonly folded: string }> {
  const code = codeOf(await enter(world.therapist, "child-1", { draft: draftOf(fields), said: saidOf(fields) }));
  form.outcome = { problem: { code }, typed: fields, isDone: false };
  const page = renderToStaticMarkup(createElement(CurveEditor, { words: editorWords(), warnings: warningWords(), label: spineLabel(""), today: "2026-03-02" }));
  const at = page.indexOf("<details");
  return { code, open: at === -1 ? page : page.slice(0, at), folded: at === -1 ? "" : page.slice(at) };
}

describe("entering a curve record", () => {
  it("asks for each side again without showing the first, and loses nothing", async () => {
    const { code, open, folded } = await send(ENTRY);
    expect(code).toBe("side-not-read-back");
    expect(open).toContain("Step 2 of 3");
    for (const name of ["thoracic-again", "thoracic-picture", "lumbar-again", "lumbar-picture", "lumbar-counts"]) expect(open).toContain(`name="${name}"`);
    expect(open).not.toContain("proximal-thoracic-again");
    // Nothing chosen and nothing drawn where the second answer is given.
    expect(open).not.toContain("checked");
    expect(open).not.toContain("<svg");
    // What was entered waits, folded and whole.
    expect(folded).toMatch(/value="22,5"/);
    expect(folded.match(/checked=""/g)).toHaveLength(8);
  });

  it("then shows the second look, carrying what was read back", async () => {
    const { code, open } = await send({ ...ENTRY, ...SAID_BACK });
    expect(code).toBe("prominence-disagree");
    expect(open).toContain("Step 3 of 3");
    expect(open).toContain("The ribs stand out on the child&#x27;s LEFT, but the thoracic curve is entered as bulging to the RIGHT.");
    expect(open).toContain('name="ack:ribs-disagree:thoracic:right:left"');
    expect(open).toContain('type="hidden" name="lumbar-counts" value="yes"');
  });

  it("ends in a record once all was said", async () => {
    expect((await send({ ...ENTRY, ...SAID_BACK, "ack:ribs-disagree:thoracic:right:left": "yes" })).code).toBe("done");
  });

  it("goes back to reading back when a side is changed afterwards", async () => {
    const { code, open } = await send({ ...ENTRY, ...SAID_BACK, "thoracic-is": "left" });
    expect([code, open.includes("Step 2 of 3")]).toEqual(["side-not-read-back", true]);
  });

  it("shows the entry, drawn from behind, when the entry itself is at fault", async () => {
    const { code, open, folded } = await send({ ...ENTRY, film: "" });
    expect(code).toBe("view-not-stated");
    expect(folded).toBe("");
    expect(open).toContain("Step 1 of 3");
    expect(open).toMatch(/data-side="right"[^]*T8/);
  });

  it("draws no apex that does not belong to its region", async () => {
    const { code, open } = await send({ ...ENTRY, "lumbar-apex": "T8" });
    expect(code).toBe("apex-region-disagree");
    expect(open.match(/data-side="left"/g)).toHaveLength(1);
    expect(open).not.toMatch(/<circle[^>]*>[^]*<circle/);
  });
});

it("refuses an angle that cannot be read instead of dropping it", () => {
  const finding = draftOf({ ...ENTRY, "lumbar-cobb": "about 20" }).regions.lumbar;
  expect(finding?.state === "curve" && Number.isNaN(finding.cobbDegrees)).toBe(true);
});

it("has a sentence for every second look the record can ask for", () => {
  const words = warningWords();
  const sides = ["left", "right"] as const;
  const asked = sides.flatMap((side) => sides.flatMap((seen) => [
    ...openWarnings({ ...RECORD, regions: { ...RECORD.regions, thoracic: curve(side, "T4"), lumbar: curve(side, "L2") }, prominence: { ribs: seen, lowBack: seen } }),
    ...openWarnings({ ...RECORD, regions: { ...RECORD.regions, thoracic: { state: "none" }, lumbar: { state: "none" }, thoracolumbar: curve(side, "T12") }, prominence: { ribs: seen, lowBack: seen } }),
    ...openWarnings({ ...RECORD, regions: { ...RECORD.regions, thoracic: { state: "none" }, lumbar: { state: "none" } }, prominence: { ribs: seen, lowBack: seen } }),
  ]));
  expect(new Set(asked.map((each) => each.code)).size).toBe(6);
  for (const { id } of asked) expect(words[id]).toMatch(/Look/);
});

it("knows the step from the server's answer", () => {
  expect([null, "record-incomplete", "stale-version", "side-not-read-back", "picture-side-disagree", "curve-under-threshold", "uncommon-unconfirmed"].map(stepOf))
    .toEqual(["entry", "entry", "entry", "read-back", "read-back", "read-back", "second-look"]);
});
