import { createHash, randomBytes, randomUUID } from "node:crypto";
import type Database from "better-sqlite3";
import { cardNumber } from "@/lib/domain/photo/card-number";

type Values = Readonly<Record<string, string | number | null>>;
type Known = Readonly<Record<string, string>>;

/**
 * Rows in the tables that the demo leaves empty, once for each of these children, their families' people and the
 * practice's staff: what nobody wrote cannot be shown to the wrong person.
 */
export function fillEmptyTables(db: Database.Database, childIds: readonly string[], exerciseKey: string): void {
  const add = (table: string, values: Values): void => {
    const names = Object.keys(values);
    db.prepare(`insert or ignore into ${table} (${names.join(", ")}) values (${names.map(() => "?").join(", ")})`).run(...Object.values(values));
  };
  const one = (sql: string, ...values: readonly unknown[]): Known => {
    const row: unknown = db.prepare(sql).get(...values);
    if (!row) throw new Error(`nothing for ${sql}`);
    return row as Known; // every selected column is text
  };
  const now = Date.now();
  for (const childId of childIds) {
    // A set that waits is answered, so that its family has something to read and to ask about.
    db.prepare(`insert or ignore into answers (id, child_id, family_id, photo_set_id, kind, summary, next_step, answered_by, answered_at, published_at)
      select ?, s.child_id, s.family_id, s.id, 'answer', 'Said.', 'keep-going', p.id, s.sent_at, s.sent_at from photo_sets s join people p on p.name = 'Tom Ferrant'
      where s.child_id = ? and s.sent_at is not null and not exists (select 1 from answers a where a.child_id = s.child_id) limit 1`).run(randomUUID(), childId);
    const { familyId = "", photoSetId = "", photoId = "", answerId = "", therapist = "", practiceId = "" } = one(`select a.family_id as familyId, a.photo_set_id as photoSetId, a.id as answerId, a.answered_by as therapist, p.id as photoId, f.practice_id as practiceId
      from answers a join photos p on p.photo_set_id = a.photo_set_id join families f on f.id = a.family_id where a.child_id = ? and a.version = 1 and a.taken_back_at is null limit 1`, childId);
    add("clips", {
      id: randomUUID(), child_id: childId, family_id: familyId, photo_id: photoId, container: "webm", codec: "vp8", duration_ms: 2000, frames: 30, width: 320, height: 192, mirrored_flag: 0,
      received_bytes: 1, received_sha256: randomBytes(32).toString("hex"), stored_at: now,
    });
    const { guardian = "" } = one("select person_id as guardian from care_links where child_id = ? and relation = 'guardian' and ended_at is null limit 1", childId);
    const { setupId = "" } = one("select id as setupId from setups where child_id = ? order by sequence desc limit 1", childId);
    const child = (): Values => ({ id: randomUUID(), child_id: childId, family_id: familyId });
    db.prepare("update answers set side_reason = 'Why the side is so', amend_reason = 'Put right' where id = ?").run(answerId);
    db.prepare("update curve_records set note = 'A note' where child_id = ?").run(childId);
    db.prepare("update setups set reason = 'Why so' where child_id = ?").run(childId);
    db.prepare("update photo_sets set note = 'A line' where child_id = ? and note = ''").run(childId);
    add("care_agreements", { ...child(), guardian_id: guardian, decision: "represents", decided_by: therapist, note: "Seen the paper", decided_at: now, sequence: 1 });
    add("photo_decisions", { ...child(), photo_id: photoId, decision: "right-child", reason: "It is this child", decided_by: therapist, decided_at: now });
    add("back_questions", { ...child(), photo_set_id: photoSetId, words: "Which arm?", side_reason: "Because", asked_by: therapist, asked_at: now - 9, reply: "That one", replied_by: guardian, replied_at: now - 8 });
    add("drafts", { ...child(), photo_set_id: photoSetId, person_id: therapist, body: JSON.stringify({ summary: "Half a sentence" }), version: 1, saved_at: now });
    add("marks", { ...child(), answer_id: answerId, photo_id: photoId, body: "" });
    db.prepare("update marks set body = ? where answer_id = ? and photo_id = ?").run(JSON.stringify({ version: 2, marks: [{ id: "note", kind: "note", itemKey: null, at: { x: 0.5, y: 0.5 }, text: "Here" }] }), answerId, photoId);
    add("seen_live", { ...child(), exercise_key: "side-lying", setup_id: setupId, how: "visit", seen_at: now - 86_400_000, note: "In the room", recorded_by: therapist, recorded_at: now });
    add("staff_stops", { ...child(), exercise_key: null, reason: "Wait", placed_by: therapist, placed_at: now - 9, lifted_by: therapist, lifted_at: now - 8, lift_reason: "Go on" });
    const report = child();
    add("symptom_reports", { ...report, tier: "today", symptoms: '["night-pain"]', note: "It hurt", reported_by: guardian, reported_at: now - 9, waited_ms: 0 });
    add("symptom_clearances", { ...child(), report_id: report["id"] ?? null, spoke_to: "The mother", outcome: "It is over", cleared_by: therapist, cleared_at: now - 8 });
    add("symptom_reports", { ...child(), tier: "today", symptoms: '["night-pain"]', note: "It hurts again", reported_by: guardian, reported_at: now - 7, waited_ms: 0 });
    const question = child();
    add("questions", { ...question, answer_id: answerId, words: "Is it right?", asked_by: guardian, asked_at: now - 9 });
    add("replies", { ...child(), question_id: question["id"] ?? null, words: "It is", side_reason: "Because of the side", replied_by: therapist, replied_at: now - 8 });
    add("side_cards", { ...child(), number: cardNumber(randomBytes(12)), made_by: therapist, made_at: now });
    const exportId = randomUUID();
    add("child_exports", { id: exportId, child_id: childId, family_id: familyId, asked_by: guardian, asked_at: 1, begun: 1, files_done: 0, sha256: hash(), gone_at: now });
    add("export_parts", { export_id: exportId, ordinal: 0, file_id: randomBytes(16).toString("hex"), byte_length: 1 });
    for (const personId of [guardian, therapist]) addSecretsOf(personId);
    add("cues", { id: randomUUID(), practice_id: practiceId, exercise_key: "side-lying", item_key: "elbow-high", words: "Lift the elbow", version: 1, written_by: therapist, written_at: now });
    add("translations", { id: randomUUID(), practice_id: practiceId, language: "es", about: `title ${exerciseKey}`, source: "The title", words: "Suba el codo", version: 1, written_by: therapist, written_at: now });
    add("exercise_drafts", { id: randomUUID(), practice_id: practiceId, exercise_key: exerciseKey, person_id: therapist, based_on: 1, body: JSON.stringify({ title: "Half an exercise" }), version: 1, saved_at: now });
  }

  function addSecretsOf(personId: string): void {
    const own = (): Values => ({ id: randomUUID(), person_id: personId });
    add("passkeys", { ...own(), credential_id: hash(), public_key: hash(), counter: 0, transports: "[]", created_at: now });
    add("totp_secrets", { person_id: personId, sealed_secret: hash(), created_at: now, confirmed_at: now });
    add("recovery_codes", { ...own(), code_hash: hash(), created_at: now });
    add("challenges", { ...own(), token_hash: hash(), purpose: "passkey", value: hash(), expires_at: now + 60_000 });
    add("invitations", { ...own(), link_hash: hash(), created_at: now, expires_at: now + 60_000 });
    add("push_phones", { ...own(), endpoint_hash: hash(), sealed_address: hash(), device: "iphone", created_at: now });
    add("sign_in_codes", { ...own(), address_hash: hash(), network_hash: hash(), code_hash: hash(), link_hash: hash(), created_at: now, expires_at: now + 60_000 });
    add("sign_in_failures", { address_hash: hash(), failures: 1, last_at: now });
    add("notices", { ...own(), kind: "sign-in-code", dedupe_key: hash(), sealed_values: hash(), created_at: now, next_try_at: now, tries: 1, sent_at: now });
    add("acts_done", { person_id: personId, key: randomUUID(), act: "photo-set.sent", result: "null", done_at: now });
  }
}

const hash = (): string => createHash("sha256").update(randomUUID()).digest("base64url");
