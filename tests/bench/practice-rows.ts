import type { Database } from "@/db/client";

/** One insert a table, prepared; what is the same in every row stands in the statement. */
export function rowsInto({ $client }: Database) {
  const into = (table: string, columns: string, same: Readonly<Record<string, string | number>> = {}) => {
    const names = columns.split(", ");
    const values = Object.values(same).map((value) => (typeof value === "number" ? value : `'${value}'`));
    return $client.prepare<(string | number | null | undefined)[]>(
      `insert into ${table} (${[...names, ...Object.keys(same)].join(", ")}) values (${[...names.map(() => "?"), ...values].join(", ")})`,
    );
  };
  const owned = "id, child_id, family_id";
  return {
    person: into("people", "id, email, name, created_at", { practice_id: "practice", role: "guardian" }),
    exercise: into("exercise_versions", "id, exercise_key, body, words", { practice_id: "practice", version: 1, written_by: "lead", written_at: 0 }),
    family: into("families", "id, name, created_at", { practice_id: "practice" }),
    child: into("children", "id, family_id, given_name, born_in, created_at"),
    link: into("care_links", `${owned}, person_id, created_at`, { relation: "guardian" }),
    consent: into("consents", `${owned}, person_id, decision, decided_at, sequence`, { purpose: "photos", text_version: "1", text_hash: "x", standing: "parent" }),
    record: into("curve_records", `${owned}, record, reassess_by, pattern_key, recorded_at, sequence`, { recorded_by: "therapist-0" }),
    setup: into("setups", `${owned}, exercise_key, curve_record_id, kind, resolution, sides_key, confirmed_at`, { exercise_version: 1, confirmed_by: "therapist-0", sequence: 1 }),
    opening: into("phase_openings", `${owned}, exercise_key, opened_at`, { phase: "position", opened_by: "therapist-0" }),
    symptom: into("symptom_reports", `${owned}, reported_by, reported_at`, { tier: "today", symptoms: '["dizzy"]' }),
    clearance: into("symptom_clearances", `${owned}, report_id, cleared_at`, { spoke_to: "Mother", outcome: "It is over.", cleared_by: "therapist-0" }),
    staffStop: into("staff_stops", `${owned}, placed_at, lifted_at`, { reason: "Wait for my call.", placed_by: "therapist-0", lifted_by: "therapist-0", lift_reason: "We spoke." }),
    set: into("photo_sets", `${owned}, exercise_key, setup_id, sent_by, started_at, sent_at, taken_at, voided_at`, { phase: "position", taken_at_source: "file" }),
    photo: into("photos", `${owned}, photo_set_id, ordinal, view, hash, side_check, stored_at`, { width: 2048, height: 1536, placeholder: "A".repeat(400), sharpness: 90, exposure_mean: 0.5, exposure_dark_share: 0, exposure_light_share: 0, mirrored_flag: 0, received_bytes: 700000, received_sha256: "0".repeat(64) }),
    file: into("media_files", "file_id, child_id, family_id, photo_id, kind, answer_id, stored_at", { width: 2048, height: 1536, byte_length: 400000, sha256: "0".repeat(64), key_id: "key" }),
    backQuestion: into("back_questions", `${owned}, photo_set_id, asked_at, replied_at, replied_by`, { words: "Which bag is it?", asked_by: "therapist-0", reply: "The small one." }),
    answer: into("answers", `${owned}, photo_set_id, kind, next_step, answered_by, answered_at, published_at`, { version: 1, summary: "Lie on the side you lie on now." }),
    notice: into("notices", "id, dedupe_key, person_id, created_at, next_try_at, sent_at", { kind: "answer" }),
    verdict: into("verdicts", "child_id, family_id, answer_id, exercise_key, item_key, is_stop, verdict, cue, sides_key, evidence_at, judged_at", { judged_by: "therapist-0" }),
    readBack: into("read_backs", `${owned}, stop_id, person_id, question, answered_at`, { stop_kind: "answer", choice: "left", is_right: 1 }),
    mark: into("marks", `${owned}, answer_id, photo_id, body`),
    question: into("questions", `${owned}, answer_id, asked_by, asked_at`, { words: "Is this right?" }),
    reply: into("replies", `${owned}, question_id, replied_at`, { words: "Yes, go on like this.", replied_by: "therapist-0" }),
    session: into("group_sessions", "id, pattern_key, starts_at, created_at", { practice_id: "practice", exercise_key: "side-lying", created_by: "therapist-0" }),
    place: into("session_places", `${owned}, asked_at, decided_at`, { session_id: "session", asked_by: "therapist-0", decision: "taken-in", decided_by: "therapist-0" }),
    ask: into("photo_asks", `${owned}, place_id, due_on, asked_at`, { asked_by: "therapist-0" }),
  };
}
