import { database } from "@/db/client";
import { patternOf, type CurveRecord } from "@/lib/domain/curve/record";
import type { Side } from "@/lib/domain/sides";
import { addWorkingMs } from "@/lib/domain/time/working-time";
import { addDays, instantOf, localDate } from "@/lib/domain/time/local";
import { readCalendar } from "@/lib/records/calendar";
import { curve, NONE, RECORD } from "@/tests/domain/curve-record-scene";
import { between, chance, oneOf } from "@/tests/proofs/random";

const YEARS = 4;
const SETS_A_CHILD = 50;
const ZONE = "Europe/London";
const HOUR_MS = 3_600_000;
const ITEMS = ["side-down", "prop-under-low-back", "prop-at-apex", "stacked", "head-in-line", "bottom-arm-long", "elbow-high", "armpit-open", "bottom-knee-bent", "top-leg-straight"];
/** The commonest first; a child has the first with a chance of a half, the second with a quarter, and so on. */
const EXERCISES = ["side-lying", "kneeling-reach", "wall-stand"] as const;

const double = (thoracic: Side, lumbar: Side): CurveRecord => ({ ...RECORD, regions: { ...RECORD.regions, thoracic: curve(thoracic, "T8"), lumbar: curve(lumbar, "L2") } });
const RECORDS: readonly CurveRecord[] = [
  double("right", "left"), double("left", "right"),
  { ...RECORD, regions: { ...RECORD.regions, thoracic: NONE } }, { ...RECORD, regions: { ...RECORD.regions, lumbar: NONE } }, double("right", "right"),
];

/**
 * A practice grown for years: children of several patterns, sets in the evenings and at weekends, most answered
 * within a day of working time and some much later, a few asked for again, void, or still waiting at `now`.
 * The same seed gives the same practice. Straight into the tables: no figure rests on how a row was written.
 */
export function growPractice(sets: number, seed: number, now: number): void {
  const db = database();
  const run = rows();
  const [random, asking] = [chance(seed), chance(seed + 1)];
  const common = <T>(list: readonly T[]): T => list[Math.min(list.length - 1, Math.floor(-Math.log2(1 - random())))] ?? oneOf(random, list);
  const calendar = readCalendar("practice");
  const first = addDays(localDate(now, ZONE), -365 * YEARS);
  // What is written here has no one to lose it, and its references are made in order.
  db.$client.pragma("synchronous = OFF");
  db.$client.pragma("foreign_keys = OFF");
  db.$client.transaction(() => {
    for (let child = 0; child * SETS_A_CHILD < sets; child += 1) {
      const [childId, familyId] = [`child-${child}`, `family-${child}`];
      const record = common(RECORDS);
      run.family(familyId, familyId);
      run.child(childId, familyId);
      run.record(`record-${child}`, childId, familyId, JSON.stringify(record), patternOf(record).key);
      for (const exercise of EXERCISES) run.setup(`${childId}-${exercise}`, childId, familyId, exercise, `record-${child}`);
      const begins = between(random, 0, 365 * YEARS - 90);
      const days = Array.from({ length: SETS_A_CHILD }, () => between(random, begins, 365 * YEARS)).sort((a, b) => a - b);
      for (const [nth, day] of days.entries()) {
        const id = `set-${child}-${nth}`;
        const exercise = common(EXERCISES);
        const sentAt = instantOf(addDays(first, day), between(random, 15 * 60, 22 * 60), ZONE) + between(random, 0, 59_999);
        if (sentAt > now || child * SETS_A_CHILD + nth >= sets) continue;
        run.set(id, childId, familyId, exercise, `${childId}-${exercise}`, sentAt, random() < 0.004 ? sentAt + HOUR_MS : null);
        // A family in twenty is asked something first, and says it within two days.
        if (asking() < 0.05) run.question(`question-${id}`, childId, familyId, id, sentAt + HOUR_MS, sentAt + HOUR_MS + between(asking, 1, 48) * HOUR_MS);
        // Log-normal: half within three working hours, one in twenty later than thirteen.
        const normal = Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());
        const answeredAt = random() < 0.0005 ? null : addWorkingMs(calendar, sentAt, 3 * HOUR_MS * Math.exp(0.9 * normal));
        if (answeredAt === null || answeredAt > now) continue;
        const isAgain = random() < 0.06;
        run.answer(`answer-${id}`, childId, familyId, id, isAgain ? "take-again" : "answer", `therapist-${between(random, 0, 4)}`, answeredAt, answeredAt);
        if (!isAgain) for (const item of ITEMS) if (random() < 0.8) run.verdict(childId, familyId, `answer-${id}`, exercise, item, random() < 0.5 / (nth + 1) + 0.05 ? "fix" : "in-place", answeredAt);
      }
    }
  })();
  db.$client.exec("analyze");
}

function rows() {
  const into = (table: string, columns: string, fixed: string, given: number) => {
    const statement = database().$client.prepare(`insert into ${table} (${columns}) values (${[...Array.from({ length: given }, () => "?"), fixed].filter(Boolean).join(", ")})`);
    return (...values: readonly (string | number | null)[]) => void statement.run(values);
  };
  return {
    family: into("families", "id, name, practice_id, created_at", "'practice', 0", 2),
    child: into("children", "id, family_id, given_name, born_in, created_at", "'C', '2014-05', 0", 2),
    record: into("curve_records", "id, child_id, family_id, record, pattern_key, recorded_by, recorded_at, sequence", "'therapist-0', 0, 1", 5),
    setup: into("setups", "id, child_id, family_id, exercise_key, curve_record_id, exercise_version, kind, resolution, sides_key, confirmed_by, confirmed_at, sequence", "1, 'rule', '{}', '', 'therapist-0', 0, 1", 5),
    set: into("photo_sets", "id, child_id, family_id, exercise_key, setup_id, sent_at, voided_at, phase, sent_by, started_at", "'position', 'mother', 0", 7),
    answer: into("answers", "id, child_id, family_id, photo_set_id, kind, answered_by, answered_at, published_at, summary, next_step", "'Seen.', 'keep-going'", 8),
    question: into("back_questions", "id, child_id, family_id, photo_set_id, asked_at, replied_at, words, asked_by, reply, replied_by", "'Which bag is it?', 'therapist-0', 'The small one.', 'mother'", 6),
    verdict: into("verdicts", "child_id, family_id, answer_id, exercise_key, item_key, verdict, judged_at, is_stop, sides_key, judged_by", "0, '', 'therapist-0'", 7),
  };
}
