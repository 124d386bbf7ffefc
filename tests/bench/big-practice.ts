import type { Database } from "@/db/client";
import { RULED } from "@/tests/bench/ruled-setup";
import { between, chance, oneOf } from "@/tests/proofs/random";

export type Size = { readonly families: number; readonly setsEach: number };

const DAY_MS = 86_400_000;
/** One child in so many has an item that never comes right, an unread stop, no photo for months. */
const [STUCK, STOPPED, SILENT] = [40, 100, 25];

/**
 * Fills an empty, migrated database with one practice: a child a family, each with a curve record, a set-up,
 * consent, photo sets once a week or so, and a verdict an item for nearly all of them. Written in bulk, not by the
 * app's acts, which would take hours; the rows are such as those acts write. The same seed gives the same practice.
 */
export function fillPractice(db: Database, { families, setsEach }: Size, now: number, seed = 20260303): void {
  const random = chance(seed);
  const id = (kind: string, at: number) => `${kind}-${String(at).padStart(8, "0")}-0000-4000-8000-000000000000`.slice(0, 36);
  const { $client } = db;
  const insert = (table: string, columns: readonly string[]) =>
    $client.prepare(`insert into ${table} (${columns.join(", ")}) values (${columns.map(() => "?").join(", ")})`);
  const owned = ["id", "child_id", "family_id"];
  const into = {
    person: insert("people", ["id", "practice_id", "role", "email", "name", "created_at"]),
    family: insert("families", ["id", "practice_id", "name", "created_at"]),
    child: insert("children", ["id", "family_id", "given_name", "born_in", "created_at"]),
    link: insert("care_links", [...owned, "person_id", "relation", "created_at"]),
    consent: insert("consents", [...owned, "person_id", "purpose", "decision", "text_version", "text_hash", "standing", "decided_at", "sequence"]),
    record: insert("curve_records", [...owned, "record", "reassess_by", "pattern_key", "recorded_by", "recorded_at", "sequence"]),
    setup: insert("setups", [...owned, "exercise_key", "exercise_version", "curve_record_id", "kind", "resolution", "sides_key", "confirmed_by", "confirmed_at", "sequence"]),
    opening: insert("phase_openings", [...owned, "exercise_key", "phase", "opened_by", "opened_at"]),
    set: insert("photo_sets", [...owned, "exercise_key", "phase", "setup_id", "sent_by", "started_at", "sent_at", "taken_at", "taken_at_source"]),
    answer: insert("answers", [...owned, "photo_set_id", "version", "kind", "summary", "next_step", "answered_by", "answered_at", "published_at"]),
    verdict: insert("verdicts", ["child_id", "family_id", "answer_id", "exercise_key", "item_key", "is_stop", "verdict", "cue", "sides_key", "evidence_at", "judged_by", "judged_at"]),
  };
  $client.pragma("synchronous = OFF");
  $client.transaction(() => {
    $client.prepare("insert into practices (id, name, time_zone, created_at) values ('practice', 'Large', 'Europe/London', 0)").run();
    into.person.run("therapist", "practice", "therapist", "therapist@practice.example", "Therapist", 0);
    for (let at = 0; at < families; at += 1) fillFamily(at);
  })();
  $client.exec("analyze");
  $client.pragma("synchronous = FULL");

  function fillFamily(at: number): void {
    const [family, child, guardian, record, setup] = [id("fam", at), id("chi", at), id("gua", at), id("rec", at), id("sup", at)];
    const own = [child, family];
    const begun = now - between(random, 40, 400) * DAY_MS;
    into.person.run(guardian, "practice", "guardian", `g${at}@families.example`, `Guardian ${at}`, begun);
    into.family.run(family, "practice", `Family ${at}`, begun);
    into.child.run(child, family, `Child ${at}`, "2013-04", begun);
    into.link.run(id("lnk", at), ...own, guardian, "guardian", begun);
    into.consent.run(id("con", at), ...own, guardian, "photos", "given", "1", "x", "parent", begun, 1);
    const due = new Date(now + between(random, -20, 200) * DAY_MS).toISOString().slice(0, 10);
    into.record.run(record, ...own, RULED.record, due, RULED.patternKey, "therapist", begun, 1);
    into.setup.run(setup, ...own, "side-lying", 1, record, "rule", RULED.resolution, RULED.sidesKey, "therapist", begun, 1);
    into.opening.run(id("opn", at), ...own, "side-lying", "position", "therapist", begun);
    const stuckOn = between(random, 1, STUCK) === 1 ? oneOf(random, RULED.items).key : null;
    const isStopped = between(random, 1, STOPPED) === 1;
    const until = between(random, 1, SILENT) === 1 ? now - 60 * DAY_MS : now - between(random, 0, 14) * DAY_MS;
    for (let nth = 0; nth < setsEach; nth += 1) {
      const last = nth === setsEach - 1;
      const sentAt = Math.round(begun + ((until - begun) * (nth + 1)) / setsEach);
      const of = at * setsEach + nth;
      const [set, answer] = [id("set", of), id("ans", of)];
      into.set.run(set, ...own, "side-lying", "position", setup, guardian, sentAt, sentAt, sentAt - 60_000, "file");
      if (last && between(random, 1, 10) === 1) continue;
      const judgedAt = sentAt + between(random, 1, 20) * 3_600_000;
      into.answer.run(answer, ...own, set, 1, "answer", "Lie on the left side, as you do now.", "keep-going", "therapist", judgedAt, judgedAt);
      for (const item of RULED.items) {
        const fault = item.isStop ? (last && isStopped) || (nth < 3 && between(random, 1, 30) === 1) : item.key === stuckOn || random() < 0.5 * 0.8 ** nth + 0.04;
        const verdict = fault ? "fix" : between(random, 1, 8) === 1 && !item.isStop ? "not-visible" : "in-place";
        into.verdict.run(...own, answer, "side-lying", item.key, item.isStop ? 1 : 0, verdict, verdict === "fix" ? "Do it this way." : null, RULED.sidesKey, sentAt - 60_000, "therapist", judgedAt);
      }
    }
  }
}
