/** What a column holds, by how much it could hurt whoever it is about. */
export type DataClass = "identity" | "health" | "picture" | "sign-in" | "machinery";

/** How long it is kept and what ends it. */
export const KEPT = {
  child: "as long as the child is known here; ends when the child or the family is erased",
  photo: "until the practice's months after the last answer are over (12 to begin with; 30 days after a warning), or the photo, the child or the family is erased; never sent or voided: 30 days; taken out: a day",
  voice: "until it, the child or the family is erased; part of no answer: 30 days",
  family: "ends when the family is erased",
  carer: "a carer's ends when the last child they were here for is erased; a staff member's stays, so that answers keep their author",
  draft: "until the answer is sent and can no longer be taken back, the photo set is voided or erased, or 30 days untouched",
  claim: "until the answer is sent; it lapses by itself",
  waiting: "until the answer is sent, or the photo set is void or erased",
  settled: "until a photo set, answer or question of that week changes or is erased; then worked out anew",
  ended: "ended or used, the row stays as a record of when; ends with the person",
  code: "ten minutes of use; the row goes two days later, at the next sign-in mail",
  failures: "until the right code is shown; else a year",
  factor: "until it is taken away or reset; ends with the person",
  act: "30 days; sooner when what it names is erased",
  challenge: "minutes of use; gone when the next one is made after it ran out",
  phone: "until ended, signed out of, access ends or the push service says it is gone",
  notice: "its sealed words until sent or given up; the bare row ends with the person or with what it was about",
  practice: "as long as the practice's folder",
  removed: "taken out, the row stays, so that past due times remain right",
  audit: "as long as the practice's folder; never changed, and erasing leaves it: random ids without what they stood for",
  export: "the file 24 hours, or until access, consent or a photo in it ends; the row 30 days longer, without it",
  erasing: "until the files are gone from the disk, seconds",
  tombstone: "as long as the practice's folder, so that a restored backup is erased again",
} as const;

/** Who reads it on a page. Nobody reads it past the access check. */
export const READERS = {
  child: "the child's own people, as far as they reach the child, and staff",
  staff: "staff",
  self: "the person alone",
  lead: "staff; the lead alone changes it",
  erasure: "the lead; the child's own people who may decide",
  author: "the member of staff who writes it",
  known: "staff; the child's other people see the name, never address or phone number",
  everyone: "everybody with an account in the practice, each what concerns them",
  nobody: "no page; the server alone",
} as const;

export type TableMap = {
  readonly table: string;
  readonly about: string;
  readonly kept: keyof typeof KEPT;
  readonly readers: keyof typeof READERS;
  /** Class, its columns, and what for. */
  readonly columns: readonly (readonly [DataClass, string, string])[];
};

const links = (columns: string) => ["machinery", columns, "ties the row to its child and keeps order"] as const;
const keeps = (columns: string) => ["machinery", columns, "keeps the row apart and in order"] as const;
const who = (columns: string) => ["identity", columns, "who did it, by random id"] as const;

export const TABLES: readonly TableMap[] = [
  { table: "practices", about: "the practice", kept: "practice", readers: "everyone", columns: [
    ["identity", "name phone", "whom families deal with and may call"],
    ["machinery", "id time_zone photo_weeks read_back_hours own_sign_in_age adult_age retention_months family_megabytes version created_at", "how the practice works"],
  ] },
  { table: "working_hours", about: "opening hours and promises", kept: "practice", readers: "everyone", columns: [
    keeps("id practice_id effective_from week time_zone promise_minutes question_minutes symptom_minutes recorded_at"), who("recorded_by"),
  ] },
  { table: "closures", about: "days closed", kept: "removed", readers: "everyone", columns: [keeps("id practice_id day label recorded_at removed_at"), who("recorded_by")] },
  { table: "extra_openings", about: "days open beside the week", kept: "removed", readers: "everyone", columns: [keeps("id practice_id day spans recorded_at removed_at"), who("recorded_by")] },
  { table: "people", about: "whoever signs in", kept: "carer", readers: "known", columns: [
    ["identity", "role email name phone", "who they are, where mail goes, whom to ring when something hurts"],
    ["identity", "time_zone language quiet_from quiet_until", "when and how to speak to them"],
    keeps("id practice_id demo_order disabled_at version created_at"),
  ] },
  { table: "families", about: "a family", kept: "family", readers: "staff", columns: [["identity", "name", "what staff call the family"], keeps("id practice_id created_at version")] },
  { table: "children", about: "a child", kept: "child", readers: "child", columns: [
    ["identity", "given_name born_in", "who it is; the month of birth says who may decide, the day is not kept"],
    ["health", "writes_with writes_with_said_at", "left and right as the child knows them"], links("id family_id created_at version"),
  ] },
  { table: "care_links", about: "who cares for which child", kept: "child", readers: "known", columns: [["identity", "person_id relation created_at ended_at", "who may see and do what for the child"], links("id child_id family_id")] },
  { table: "care_agreements", about: "what an adult agreed to", kept: "child", readers: "known", columns: [
    ["identity", "guardian_id decision decided_by note decided_at", "whether a guardian goes on seeing an adult's record, and how staff know"], links("id child_id family_id sequence"),
  ] },
  { table: "consents", about: "consent, given or withdrawn", kept: "child", readers: "child", columns: [
    ["identity", "person_id purpose decision text_version text_hash standing decided_at", "proof of consent: who, for what, which text, as what"], links("id child_id family_id sequence"),
  ] },
  { table: "curve_records", about: "the curve as examined", kept: "child", readers: "child", columns: [
    ["health", "record reassess_by pattern_key note", "what set-ups are worked out from"], who("recorded_by recorded_at"), links("id child_id family_id sequence"),
  ] },
  { table: "setups", about: "a confirmed set-up", kept: "child", readers: "child", columns: [
    ["health", "exercise_key exercise_version curve_record_id kind resolution sides_key apex_spot reason", "how this child lies, and why"], who("confirmed_by confirmed_at"), links("id child_id family_id sequence"),
  ] },
  { table: "phase_openings", about: "phases that are open", kept: "child", readers: "child", columns: [["health", "exercise_key phase", "how far the child has come"], who("opened_by opened_at"), links("id child_id family_id closed_at")] },
  { table: "practice_days", about: "days practised", kept: "child", readers: "child", columns: [["health", "exercise_key day", "that the exercise was done"], who("person_id marked_at"), links("id child_id family_id")] },
  { table: "side_cards", about: "the card in the picture", kept: "child", readers: "child", columns: [["machinery", "number retired_at", "random; tells mirror-reversed pictures"], who("made_by made_at"), links("id child_id family_id")] },
  { table: "photo_sets", about: "photos sent together", kept: "child", readers: "child", columns: [
    ["health", "exercise_key phase setup_id note taken_at taken_at_source is_old", "what is to be judged"], who("sent_by started_at sent_at voided_by voided_at"),
    links("id child_id family_id void_reason photos_erased_at erase_warned_at"),
  ] },
  { table: "photos", about: "a photo, or a picture that a therapist took from a clip", kept: "photo", readers: "child", columns: [
    ["picture", "placeholder hash", "a blurred stand-in of at most 32 pixels; finds the same picture sent twice"],
    ["health", "head_x head_y facing side_check mirrored_flag card_reading is_turned_back mirror_settled_by view", "which side the child lies on"],
    ["machinery", "ordinal width height sharpness exposure_mean exposure_dark_share exposure_light_share is_covered received_bytes original_bytes received_sha256 taken_at stored_at removed_at clip_ms", "advice on the picture, and that it arrived whole; the time in the clip that it was taken from"],
    who("moment_by"), links("id child_id family_id photo_set_id moment_of"),
  ] },
  { table: "photo_decisions", about: "what staff decided of a photo", kept: "photo", readers: "staff", columns: [["health", "decision reason", "which side, whose picture, and why"], who("decided_by decided_at"), links("id child_id family_id photo_id")] },
  { table: "media_files", about: "one encrypted file", kept: "photo", readers: "nobody", columns: [
    ["machinery", "kind width height byte_length sha256 key_id stored_at", "finds, checks and opens the file"], links("file_id child_id family_id photo_id voice_note_id answer_id"),
  ] },
  { table: "clips", about: "a short clip that a photo is a frame of", kept: "photo", readers: "child", columns: [
    ["machinery", "container codec duration_ms frames width height mirrored_flag turns received_bytes received_sha256 taken_at stored_at", "plays the file, and that it arrived whole"], links("id child_id family_id photo_id"),
  ] },
  { table: "voice_notes", about: "a spoken note", kept: "voice", readers: "child", columns: [["machinery", "container duration_ms removed_at", "plays the file"], who("recorded_by recorded_at"), links("id child_id family_id photo_set_id")] },
  { table: "symptom_reports", about: "something hurts", kept: "child", readers: "child", columns: [
    ["health", "tier symptoms note photo_set_id", "what stops the exercise and calls staff"], who("reported_by reported_at"), links("id child_id family_id waited_ms"),
  ] },
  { table: "symptom_clearances", about: "who was spoken to", kept: "child", readers: "child", columns: [["health", "spoke_to outcome", "what lifts the stop"], who("cleared_by cleared_at"), links("id child_id family_id report_id")] },
  { table: "waiting_sets", about: "which photo sets wait for an answer", kept: "waiting", readers: "staff", columns: [keeps("photo_set_id")] },
  { table: "settled_weeks", about: "weeks of which every answer time is known", kept: "settled", readers: "staff", columns: [keeps("practice_id week_from week_until settled_at")] },
  { table: "settled_times", about: "the answer times of such a week, without whose they are", kept: "settled", readers: "staff", columns: [
    ["machinery", "by key minutes in_time quantiles", "figures of the past without reading every photo set again"], keeps("practice_id week_from"),
  ] },
  { table: "claims", about: "who is answering", kept: "claim", readers: "staff", columns: [who("person_id claimed_at"), keeps("photo_set_id lapses_at")] },
  { table: "drafts", about: "an answer being written", kept: "draft", readers: "author", columns: [["health", "body", "typed and drawn so far"], who("person_id"), links("id child_id family_id photo_set_id version saved_at sent_at")] },
  { table: "answers", about: "an answer", kept: "child", readers: "child", columns: [
    ["health", "kind summary next_step next_view take_again_reason side_reason amend_reason", "what to change, and what comes next"],
    who("answered_by answered_at"), links("id child_id family_id photo_set_id version published_at taken_back_at voice_note_id"),
  ] },
  { table: "seen_live", about: "a visit or call", kept: "child", readers: "child", columns: [["health", "exercise_key setup_id how seen_at note", "what was judged without a photo"], who("recorded_by recorded_at"), links("id child_id family_id")] },
  { table: "verdicts", about: "one item judged", kept: "child", readers: "child", columns: [
    ["health", "exercise_key item_key is_stop verdict cue cue_id sides_key evidence_at", "from which the go-ahead is computed"], who("judged_by judged_at"), links("sequence child_id family_id answer_id seen_live_id"),
  ] },
  { table: "stopped_items", about: "which items a verdict stopped", kept: "child", readers: "staff", columns: [["health", "exercise_key item_key lifted_at", "finds the stops that are open"], links("child_id family_id")] },
  { table: "marks", about: "marks on a photo", kept: "photo", readers: "child", columns: [["health", "body", "arrows, rings, lines, angles, notes"], links("id child_id family_id answer_id photo_id")] },
  { table: "answer_spans", about: "the part of a clip to repeat", kept: "photo", readers: "child", columns: [["health", "from_ms to_ms", "what the family is to look at"], links("id child_id family_id answer_id photo_id")] },
  { table: "answer_pairs", about: "then and now", kept: "photo", readers: "child", columns: [links("id child_id family_id answer_id then_photo_id now_photo_id")] },
  { table: "answer_openings", about: "that an answer was opened", kept: "child", readers: "staff", columns: [who("person_id opened_at"), links("child_id family_id answer_id")] },
  { table: "staff_stops", about: "a stop without a photo", kept: "child", readers: "child", columns: [["health", "exercise_key reason lift_reason", "why the exercise is stopped or free again"], who("placed_by placed_at lifted_by lifted_at"), links("id child_id family_id")] },
  { table: "read_backs", about: "a stop's question answered", kept: "child", readers: "child", columns: [
    ["health", "stop_kind stop_id question choice is_right", "that the stop was understood"], who("person_id answered_at"), links("id child_id family_id"),
  ] },
  { table: "questions", about: "a family's question", kept: "child", readers: "child", columns: [["health", "words", "what is asked of an answer"], who("asked_by asked_at"), links("id child_id family_id answer_id")] },
  { table: "replies", about: "the reply", kept: "child", readers: "child", columns: [["health", "words side_reason", "what is said to it"], who("replied_by replied_at"), links("id child_id family_id question_id")] },
  { table: "back_questions", about: "what staff asked before answering", kept: "child", readers: "child", columns: [
    ["health", "words side_reason reply", "what is asked of a photo set, and the family's words"], who("asked_by asked_at replied_by replied_at withdrawn_by withdrawn_at"), links("id child_id family_id photo_set_id new_photo_at"),
  ] },
  { table: "group_sessions", about: "a group session", kept: "practice", readers: "everyone", columns: [
    ["health", "exercise_key pattern_key", "for which curve pattern it is"], ["machinery", "starts_at how_to_join", "when and where"], who("created_by created_at closed_by closed_at"), keeps("id practice_id version"),
  ] },
  { table: "session_invitations", about: "a session's address", kept: "practice", readers: "staff", columns: [["sign-in", "link_hash expires_at revoked_at", "lets a family ask to come; hashed"], who("created_by created_at"), keeps("id session_id")] },
  { table: "session_places", about: "a child's place", kept: "child", readers: "child", columns: [["health", "session_id decision", "that the child comes"], who("asked_by asked_at decided_by decided_at ended_by ended_at"), links("id child_id family_id")] },
  { table: "photo_asks", about: "a photo asked for", kept: "child", readers: "child", columns: [["machinery", "due_on", "by which day"], who("asked_by asked_at taken_back_by taken_back_at"), links("id child_id family_id place_id")] },
  { table: "exercise_versions", about: "an exercise", kept: "practice", readers: "everyone", columns: [["machinery", "exercise_key version body words", "what is taught; about no child"], who("written_by written_at"), keeps("id practice_id")] },
  { table: "exercise_drafts", about: "an exercise being written", kept: "practice", readers: "author", columns: [["machinery", "exercise_key based_on body", "about no child"], who("person_id"), keeps("id practice_id version saved_at")] },
  { table: "exercises_retired", about: "taught no more", kept: "practice", readers: "staff", columns: [["machinery", "exercise_key returned_at", "not offered"], who("retired_by retired_at"), keeps("id practice_id")] },
  { table: "cues", about: "a cue of the library", kept: "practice", readers: "staff", columns: [["machinery", "exercise_key item_key starter_key words retired_at", "what may be said; about no child"], who("written_by written_at"), keeps("id practice_id version")] },
  { table: "translations", about: "a text in another language", kept: "practice", readers: "everyone", columns: [["machinery", "language about source words", "about no child"], who("written_by written_at"), keeps("id practice_id version")] },
  { table: "sessions", about: "one signed-in browser", kept: "ended", readers: "self", columns: [
    ["sign-in", "token_hash created_at last_seen_at ends_at proved_at mail_proved_at ended_at", "who is signed in, how surely, how long"], ["identity", "person_id browser system", "whose, and on what kind of device; no network address"], keeps("id"),
  ] },
  { table: "sign_in_codes", about: "a mailed code", kept: "code", readers: "nobody", columns: [
    ["sign-in", "code_hash link_hash expires_at tries used_at replaced_at", "one sign-in; hashed with a key"], ["identity", "address_hash network_hash person_id", "limits on mails; the network's is emptied after an hour"], keeps("id created_at"),
  ] },
  { table: "sign_in_failures", about: "wrong codes of an address", kept: "failures", readers: "nobody", columns: [["sign-in", "address_hash failures last_at", "ends guessing"]] },
  { table: "passkeys", about: "a passkey of staff", kept: "factor", readers: "self", columns: [["sign-in", "credential_id public_key counter transports last_used_at", "second step; no secret"], ["identity", "person_id", "whose"], keeps("id created_at")] },
  { table: "totp_secrets", about: "a one-time code app", kept: "factor", readers: "self", columns: [["sign-in", "sealed_secret confirmed_at last_step", "second step; sealed"], ["identity", "person_id", "whose"], keeps("created_at")] },
  { table: "totp_failures", about: "wrong app codes", kept: "failures", readers: "nobody", columns: [["sign-in", "failures last_at", "ends guessing"], ["identity", "person_id", "whose"]] },
  { table: "recovery_codes", about: "codes on paper", kept: "factor", readers: "self", columns: [["sign-in", "code_hash used_at", "second step when the device is lost; hashed with a key"], ["identity", "person_id", "whose"], keeps("id created_at")] },
  { table: "challenges", about: "one question to a passkey", kept: "challenge", readers: "nobody", columns: [["sign-in", "token_hash purpose value tries expires_at used_at", "once"], ["identity", "person_id", "whose"], keeps("id")] },
  { table: "invitations", about: "a set-up address", kept: "ended", readers: "nobody", columns: [["sign-in", "link_hash expires_at used_at revoked_at", "sets up a sign-in, once, within a day; hashed"], ["identity", "person_id created_by", "whose, from whom"], keeps("id created_at")] },
  { table: "notice_choices", about: "what mail is wanted", kept: "carer", readers: "self", columns: [["identity", "person_id kind is_on chosen_at", "what they switched off"]] },
  { table: "push_phones", about: "a browser told by push", kept: "phone", readers: "self", columns: [["identity", "person_id endpoint_hash sealed_address device", "where it is pushed to; sealed"], keeps("id created_at")] },
  { table: "notices", about: "a mail or push going out", kept: "notice", readers: "nobody", columns: [
    ["sign-in", "sealed_values", "such as a code; sealed, emptied once sent"], ["identity", "person_id phone_id kind", "to whom, of which kind; no words, no name"], keeps("id dedupe_key created_at next_try_at tries sent_at gave_up_at"),
  ] },
  { table: "audit_entries", about: "who did what", kept: "audit", readers: "nobody", columns: [
    ["identity", "actor_id role act object_id family_id outcome session_hash request_id", "by random ids alone"], ["machinery", "sequence at previous_hash hash", "the chain that shows a change"],
  ] },
  { table: "acts_done", about: "an act that happened once", kept: "act", readers: "nobody", columns: [["machinery", "key act result", "a repeated send answers the same; may name ids"], ["identity", "person_id done_at", "whose"]] },
  { table: "tombstones", about: "what was erased", kept: "tombstone", readers: "nobody", columns: [["machinery", "id kind erased_at", "a random id that stands for nothing any more"]] },
  { table: "child_exports", about: "everything of a child as one file, asked for", kept: "export", readers: "self", columns: [
    who("asked_by asked_at"), ["machinery", "begun files_to_do files_done made_at byte_length sha256 failed_at gone_at", "how far it is; holds no word of what is in it"], links("id child_id family_id"),
  ] },
  { table: "export_parts", about: "where such a file lies", kept: "export", readers: "nobody", columns: [keeps("export_id ordinal file_id byte_length")] },
  { table: "erased_files", about: "files to take off the disk", kept: "erasing", readers: "nobody", columns: [["machinery", "file_id", "finishes an erasure after a crash"]] },
  { table: "erasure_requests", about: "an erasure asked for", kept: "child", readers: "erasure", columns: [["identity", "kind object_id asked_by asked_at taken_back_by taken_back_at", "what goes, and who wants it"], links("id child_id family_id due_at")] },
  { table: "quarantines", about: "a photo set aside", kept: "photo", readers: "staff", columns: [["identity", "set_aside_by set_aside_at released_by released_at", "nobody sees it until the lead decides"], links("id child_id family_id photo_id")] },
  { table: "alarms", about: "something about the server", kept: "practice", readers: "lead", columns: [["machinery", "kind raised_at", "that a person must look; about nobody"], keeps("id practice_id")] },
  { table: "alarms_seen", about: "an alarm seen to", kept: "practice", readers: "lead", columns: [who("seen_by seen_at"), keeps("alarm_id")] },
  { table: "retention_runs", about: "the look for what is too old", kept: "practice", readers: "lead", columns: [["machinery", "ran_at due total outcome", "that it ran, and how much was due"], who("confirmed_by confirmed_at"), keeps("id practice_id")] },
];
