import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { GET } from "@/app/desk/times/csv/route";
import { namedGroups } from "@/app/desk/times/groups";
import { database } from "@/db/client";
import { photoSets } from "@/db/schema/photos";
import { backQuestions } from "@/db/schema/questions";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { answerTimes, timedSets } from "@/lib/records/answer-times";
import { BY, type By } from "@/lib/records/figures-by";
import { pointsToTeach, taughtIn } from "@/lib/records/teaching";
import { watched } from "@/tests/bench/watched";
import { addSet, answeringWorld, HOUR, NOW, send } from "@/tests/records/answering-scene";
import { allOf } from "@/tests/records/in-lots";
import { plansOf, scansOf } from "@/tests/records/query-plans";
import { done } from "@/tests/records/desk-scene";

const session = vi.hoisted((): { actor: unknown } => ({ actor: null }));
vi.mock("@/lib/access/session", () => ({ signedIn: async () => session.actor, currentActor: async () => session.actor }));

/** Wednesday 4 March 2026, 12:00; the practice works 09:00 to 17:00 and promises 8 hours. */
const NOON = NOW + 2 * HOUR;
const DAY = 24 * HOUR;

let world: ReturnType<typeof answeringWorld>;
beforeEach(async () => {
  vi.useFakeTimers({ toFake: ["Date"], now: NOON });
  world = answeringWorld();
  addSet("last-week", { sentAt: NOW - 7 * DAY });
  addSet("first", { childId: "child-2", sentAt: NOW - HOUR });
  addSet("second", { sentAt: NOW - HOUR });
  done(await send(world.therapist, "last-week", {}, NOW));
  done(await send(world.colleague, "second", {}, NOW));
});
afterEach(() => {
  world.close();
  vi.useRealTimers();
});

const groups = async (by: By) => {
  const times = await answerTimes(await grant(world.lead, "times.read", null), by, NOON);
  return namedGroups(by, times.groups, times.patterns, world.lead);
};
const rows = async (by: By) => (await groups(by)).map(({ word, figures }) => [word, figures.n, figures.open, figures.within.count, figures.within.of]);

describe("answer times in groups", () => {
  it("puts each set into exactly one, whatever they go by", async () => {
    for (const by of BY) expect((await groups(by)).reduce((sum, { figures }) => sum + figures.n, 0)).toBe(3);
  });

  it("by the week in the practice's zone, the newest first", async () => {
    expect(await rows("week")).toEqual([["from Mon 2 Mar 2026", 2, 1, 1, 1], ["from Mon 23 Feb 2026", 1, 0, 0, 1]]);
  });

  it("by the first of a child and the later ones", async () => {
    expect(await rows("nth")).toEqual([["first photo set", 2, 1, 0, 1], ["later ones", 1, 0, 1, 1]]);
  });

  it("by colleague without a curve: those still waiting are nobody's", async () => {
    expect((await rows("colleague")).toSorted()).toEqual([["colleague", 1, 0, 1, 1], ["nobody yet", 1, 1, 0, 0], ["therapist", 1, 0, 0, 1]]);
    expect((await groups("colleague")).map(({ hasCurve }) => hasCurve)).toEqual([false, false, false]);
  });
});

it("reads no photo set, answer or verdict without an index", async () => {
  const [times, teaching] = [await grant(world.lead, "times.read", null), await grant(world.lead, "teaching.read", null)];
  for (const by of BY) expect(scansOf(await plansOf(() => answerTimes(times, by, NOON)))).toEqual([]);
  expect(scansOf(await plansOf(() => allOf(timedSets(times, NOON))))).toEqual([]);
  const plans = await plansOf(async () => {
    const [one] = await taughtIn(teaching, NOON);
    if (one) await pointsToTeach(teaching, one, NOON);
  });
  expect(scansOf(plans)).toEqual([]);
  expect(plans).toEqual(expect.arrayContaining([expect.stringMatching(/^SEARCH photo_sets USING .*photo_sets_setup/), expect.stringMatching(/^SEARCH verdicts USING .*verdicts_item/)]));
  const read = await plansOf(() => answerTimes(times, "nth", NOON));
  for (const index of ["photo_sets_timed", "answers_first", "families_practice", "back_questions_timed"]) expect(read).toContainEqual(expect.stringContaining(`USING COVERING INDEX ${index}`));
  // What it would say of one that does.
  expect(scansOf(await plansOf(async () => database().select({ note: photoSets.note }).from(photoSets).all()))).toEqual(["SCAN photo_sets"]);
});

describe("all rows as CSV", () => {
  const get = async (who: Actor | null) => {
    session.actor = who;
    return GET(new Request("http://localhost:3000/desk/times/csv"), { params: Promise.resolve({}) });
  };

  it("name no child and no family, and say of what waits that it waits", async () => {
    const response = await get(world.therapist);
    expect(response.headers.get("content-type")).toBe("text/csv; charset=utf-8");
    expect(response.headers.get("cache-control")).toBe("private, no-store");
    const bytes = Buffer.from(await response.arrayBuffer());
    // The Unicode Standard, 23.8: U+FEFF at the start signs UTF-8, and stands nowhere else.
    expect([bytes.subarray(0, 3).toString("hex"), bytes.indexOf("\uFEFF", 3)]).toEqual(["efbbbf", -1]);
    const lines = new TextDecoder().decode(bytes).split("\r\n");
    expect(lines).toHaveLength(5);
    // Worked by hand: last Wednesday 10:00 to today 10:00 is five days of eight hours; 9:00 to 10:00 is one; 9:00 to 12:00 three.
    expect(lines.slice(1, 4).map((line) => line.split(",").slice(3, 5).join(" ")).toSorted()).toEqual(["180 waiting", "2400 answered", "60 answered"]);
    expect(lines.join("\n")).not.toMatch(/child|family|mother|stranger/);
    expect(lines[0]).toBe("sent_utc,answered_utc,due_utc,working_minutes,state,exercise,curve_pattern,answered_by,nth_photo_set,paused_minutes");
  });

  it("say of what waits on a family that it does, and how long each set did, in working time", async () => {
    const asked = { childId: "child-2", familyId: "family-a", words: "Which bag?", askedBy: "therapist" };
    database().insert(backQuestions).values([
      // 9:15 to 9:45, and from 11:00 on; it is noon.
      { id: "q1", ...asked, photoSetId: "first", askedAt: NOW - HOUR * 0.75, withdrawnAt: NOW - HOUR / 4, withdrawnBy: "therapist" },
      { id: "q2", ...asked, photoSetId: "first", askedAt: NOW + HOUR },
      // Never answered: it ended with the answer to its set at 10:00.
      { id: "q3", ...asked, childId: "child-1", photoSetId: "second", askedAt: NOW - HOUR / 2 },
    ]).run();
    const lines = (await (await get(world.therapist)).text()).trim().split("\r\n").slice(1).map((line) => line.split(","));
    expect(lines.map((line) => [line[3], line[4], line.at(-1)]).toSorted()).toEqual([["2400", "answered", "0"], ["30", "answered", "30"], ["90", "waiting-on-family", "90"]]);
    expect(lines.find((line) => line[4] === "waiting-on-family")?.[2]).toBe("");
  });

  it("come some at a time, read as they are taken, each told which of its child's it is", async () => {
    // Two in a millisecond, over the end of a lot too.
    for (let nth = 0; nth < 700; nth += 1) addSet(`many-${String(nth).padStart(3, "0")}`, { childId: nth % 3 === 0 ? "child-2" : "child-1", sentAt: NOW - 30 * DAY + Math.floor(nth / 2) });
    const { statements } = await watched(async () => {
      const reader = (await get(world.therapist)).body?.getReader();
      expect(new TextDecoder().decode((await reader?.read())?.value).split("\r\n").length).toBeLessThan(300);
      await reader?.cancel();
    });
    const reads = [...statements].filter(([text]) => text.includes("limit ?") && text.includes("photo_sets")).map(([, { times }]) => times);
    expect(reads).toEqual([2]);
    const nths = (await (await get(world.therapist)).text()).trim().split("\r\n").slice(1).map((line) => Number(line.split(",").at(-2)));
    // Counted here: child-2 has 234 of these and one more, child-1 466 and two more.
    const upTo = (n: number) => Array.from({ length: n }, (_, at) => at + 1);
    expect(nths.toSorted((a, b) => a - b)).toEqual([...upTo(235), ...upTo(468)].toSorted((a, b) => a - b));
  });

  it("is the staff's of this practice", async () => {
    expect((await get(null)).status).toBe(401);
    expect((await get(world.mother)).status).toBe(404);
    await expect(get(world.outsider)).rejects.toThrow("the practice is missing");
  });
});
