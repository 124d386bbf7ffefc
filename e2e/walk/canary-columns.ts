/** Who may read it, stated here on its own and not computed from the product's permissions. */
export type Readers =
  | "everyone"
  /** Whoever has an account in the practice. */
  | "practice"
  | "staff"
  /** The child's own people, as far as they reach it today, and staff. */
  | "child"
  | "oneself"
  | "oneself and staff"
  /** Staff to everybody, everybody to staff, and the people of one child to each other. */
  | "known"
  /** On no screen, and in no archive: kept for whoever must look into the record itself, or a secret of sign-in. */
  | "nobody";

export type Searched = {
  readonly table: string;
  /** Free words: a canary is put behind what stands there. */
  readonly words?: Readonly<Record<string, Readers>>;
  /** JSON: a canary is put behind each text under these names; "*" means every text. */
  readonly json?: Readonly<Record<string, readonly [Readers, ...string[]]>>;
  /** Random or hashed already, so it is looked for as it is. */
  readonly values?: Readonly<Record<string, Readers>>;
  /** From a closed list, a date, a key of an exercise: nothing that tells two people apart. Names of columns, and why where it is not plain. */
  readonly closed?: string;
};

/**
 * Every text column of the database. Ids (`id`, `…_id`, `…_by`) need no row: the id of a row that belongs to a child
 * is looked for as a value of that child's.
 */
export const SEARCHED: readonly Searched[] = [
  { table: "practices", words: { name: "everyone", phone: "practice" }, closed: "time_zone" },
  { table: "working_hours", closed: "week time_zone" },
  { table: "closures", words: { label: "practice" }, closed: "day" },
  { table: "extra_openings", closed: "day spans" },
  { table: "people", words: { name: "known", phone: "oneself and staff", email: "oneself and staff" }, closed: "role time_zone language" },
  { table: "families", words: { name: "staff" } },
  { table: "children", words: { given_name: "child" }, closed: "born_in writes_with" },
  { table: "care_links", closed: "relation" },
  { table: "care_agreements", words: { note: "nobody" }, closed: "decision" },
  // The text that was read, and its hash, are the same for everybody.
  { table: "consents", closed: "purpose decision text_version text_hash standing" },
  { table: "curve_records", words: { note: "child" }, closed: "record reassess_by pattern_key" },
  { table: "setups", words: { apex_spot: "child", reason: "child" }, closed: "exercise_key kind resolution sides_key" },
  { table: "phase_openings", closed: "exercise_key phase" },
  { table: "practice_days", closed: "exercise_key day" },
  { table: "side_cards", values: { number: "child" } },
  { table: "photo_sets", words: { note: "child" }, closed: "exercise_key phase taken_at_source void_reason" },
  { table: "photos", values: { placeholder: "nobody", received_sha256: "nobody", hash: "nobody" }, closed: "view card_reading mirror_settled_by facing side_check moment_of" },
  { table: "photo_decisions", words: { reason: "nobody" }, closed: "decision" },
  // The hash of a file is its tag for whoever may have it, and stands in the archive, which can be checked by it.
  { table: "media_files", values: { file_id: "nobody", sha256: "child", key_id: "nobody" }, closed: "kind" },
  { table: "clips", values: { received_sha256: "nobody" }, closed: "container codec" },
  { table: "voice_notes", closed: "container" },
  { table: "symptom_reports", words: { note: "child" }, closed: "tier symptoms" },
  { table: "symptom_clearances", words: { spoke_to: "child", outcome: "child" } },
  { table: "settled_weeks" },
  { table: "settled_times", closed: "by key minutes quantiles" },
  { table: "claims" },
  { table: "drafts", json: { body: ["oneself", "*"] } },
  { table: "answers", words: { summary: "child", side_reason: "staff", amend_reason: "child" }, closed: "kind next_step next_view take_again_reason" },
  { table: "seen_live", words: { note: "child" }, closed: "exercise_key how" },
  { table: "verdicts", words: { cue: "child" }, closed: "exercise_key item_key verdict sides_key" },
  { table: "stopped_items", closed: "exercise_key item_key" },
  { table: "marks", json: { body: ["child", "text"] } },
  { table: "answer_openings" },
  { table: "answer_pairs" },
  { table: "answer_spans" },
  { table: "staff_stops", words: { reason: "child", lift_reason: "child" }, closed: "exercise_key" },
  { table: "read_backs", closed: "stop_kind question choice" },
  { table: "questions", words: { words: "child" } },
  { table: "replies", words: { words: "child", side_reason: "nobody" } },
  { table: "back_questions", words: { words: "child", side_reason: "nobody", reply: "child" } },
  { table: "group_sessions", words: { how_to_join: "practice" }, closed: "exercise_key pattern_key" },
  { table: "session_invitations", values: { link_hash: "nobody" } },
  { table: "session_places", closed: "decision" },
  { table: "photo_asks", closed: "due_on" },
  { table: "exercise_versions", json: { words: ["practice", "title", "items", "cautions"] }, closed: "exercise_key body" },
  { table: "exercise_drafts", json: { body: ["oneself", "*"] }, closed: "exercise_key" },
  { table: "exercises_retired", closed: "exercise_key" },
  { table: "cues", words: { words: "practice" }, closed: "exercise_key item_key starter_key" },
  { table: "translations", words: { words: "practice" }, closed: "language about source" },
  { table: "sessions", values: { token_hash: "nobody" }, closed: "browser system" },
  { table: "sign_in_codes", values: { address_hash: "nobody", network_hash: "nobody", code_hash: "nobody", link_hash: "nobody" } },
  { table: "sign_in_failures", values: { address_hash: "nobody" } },
  // A browser is told which of a person's passkeys to ask for, once that person has done the first step.
  { table: "passkeys", values: { credential_id: "oneself", public_key: "nobody" }, closed: "transports" },
  { table: "totp_secrets", values: { sealed_secret: "nobody" } },
  { table: "totp_failures" },
  { table: "recovery_codes", values: { code_hash: "nobody" } },
  { table: "challenges", values: { token_hash: "nobody", value: "nobody" }, closed: "purpose" },
  { table: "invitations", values: { link_hash: "nobody" } },
  { table: "notice_choices", closed: "kind" },
  { table: "push_phones", values: { endpoint_hash: "nobody", sealed_address: "nobody" }, closed: "device" },
  // Its key is made of a kind and the ids of what it is about.
  { table: "notices", values: { sealed_values: "nobody" }, closed: "kind dedupe_key" },
  // Append-only, so nothing is planted. A request's number is of no use to anybody.
  { table: "audit_entries", values: { session_hash: "nobody", previous_hash: "nobody", hash: "nobody" }, closed: "role act outcome request_id" },
  { table: "acts_done", values: { key: "nobody" }, closed: "act result" },
  { table: "tombstones", closed: "kind" },
  { table: "child_exports", values: { sha256: "nobody" } },
  { table: "export_parts", values: { file_id: "nobody" } },
  // Rows of seconds, of files that are gone.
  { table: "erased_files", closed: "file_id" },
  { table: "erasure_requests", closed: "kind" },
  { table: "quarantines" },
  { table: "retention_runs", closed: "outcome" },
  { table: "alarms", closed: "kind" },
  { table: "alarms_seen" },
];
