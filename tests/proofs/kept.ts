import { createHash } from "node:crypto";
import { utimesSync } from "node:fs";
import { basename } from "node:path";
import { sha256, type Place, type Practice, type Sender, type Stored } from "@/tests/proofs/practice";

/** What the server said yes to, and so may never lose. */
export type Acknowledged = {
  readonly photos: { readonly place: Place; readonly stored: Stored }[];
  readonly sets: { readonly setId: string }[];
  readonly answers: { readonly setId: string }[];
  readonly voices: { readonly childId: string; readonly setId: string; readonly voiceNoteId: string; readonly by: string }[];
  readonly erased: { readonly photoId: string; readonly setId: string; readonly childId: string; readonly by: string }[];
  readonly exports: { readonly sender: Sender; readonly key: string }[];
};
export const nothingYet = (): Acknowledged => ({ photos: [], sets: [], answers: [], voices: [], erased: [], exports: [] });

/** What is acknowledged and not there, or there twice; each by name, so that a failure can be looked at. */
export async function missingFrom(practice: Practice, { photos, sets, answers, ...others }: Acknowledged): Promise<readonly string[]> {
  const missing = [...(await missingOf(practice, others))];
  for (const { place, stored } of photos) {
    const row = one(practice, "select received_bytes as bytes, received_sha256 as hash from photos where id = ? and removed_at is null", stored.photoId);
    if (row["bytes"] !== stored.receivedBytes || row["hash"] !== stored.sha256) missing.push(`photo ${stored.photoId}`);
    if (practice.rows("select 1 from photos where photo_set_id = ? and ordinal = ?", place.setId, place.ordinal).length !== 1) missing.push(`photo twice at ${place.setId}`);
    missing.push(...(await unreadable(practice, place.sender, stored.photoId)));
  }
  for (const { setId } of sets) {
    if (!one(practice, "select sent_at as at from photo_sets where id = ?", setId)["at"]) missing.push(`set ${setId}`);
    if (practice.rows("select 1 from audit_entries where act = 'photo-set.sent' and object_id = ?", setId).length !== 1) missing.push(`set ${setId} not sent once`);
  }
  for (const { setId } of answers) {
    if (practice.rows("select 1 from answers where photo_set_id = ?", setId).length !== 1) missing.push(`answer to ${setId}`);
  }
  return missing;
}

/** Spoken notes that are not there once, photos that were erased and are still there or went twice, archives that were asked for and are not. */
async function missingOf(practice: Practice, { voices, erased, exports }: Pick<Acknowledged, "voices" | "erased" | "exports">): Promise<readonly string[]> {
  const missing: string[] = [];
  for (const { childId, voiceNoteId, by } of voices) {
    const hash = one(practice, "select sha256 as hash from media_files where voice_note_id = ?", voiceNoteId)["hash"];
    const { status, body } = await practice.ask(`/media/${childId}/voice/${voiceNoteId}`, by);
    if (status !== 200 || sha256(Buffer.from(body, "latin1")) !== hash) missing.push(`spoken note ${voiceNoteId}`);
  }
  for (const { photoId, childId, by } of erased) {
    const left = ["select 1 from photos where id = ?", "select 1 from media_files where photo_id = ?", "select 1 from marks where photo_id = ?"].some((query) => practice.rows(query, photoId).length > 0);
    if (left || (await practice.ask(`/media/${childId}/${photoId}/1024`, by)).status !== 404) missing.push(`erased photo ${photoId} is there`);
    if (practice.rows("select 1 from tombstones where id = ?", photoId).length !== 1) missing.push(`erased photo ${photoId} without its mark`);
    if (practice.rows("select 1 from audit_entries where act = 'photo.erased' and object_id = ?", photoId).length !== 1) missing.push(`erased photo ${photoId} not once`);
  }
  for (const { sender: { childId, cookie, personId }, key } of exports) {
    if (practice.rows("select 1 from acts_done where key = ?", key).length !== 1) missing.push(`archive asked for under ${key}`);
    const row = one(practice, "select id, sha256 as hash from child_exports where child_id = ? and asked_by = ? and made_at is not null and gone_at is null", childId, personId);
    const { status, body } = await practice.ask(`/api/exports/${childId}/${String(row["id"])}`, cookie);
    if (status !== 200 || sha256(Buffer.from(body, "latin1")) !== row["hash"]) missing.push(`archive of ${childId}: ${status}`);
  }
  return missing;
}

/** Every size of the photo, fetched as its family sees it, against the hash of its row. */
async function unreadable(practice: Practice, { childId, cookie }: Sender, photoId: string): Promise<readonly string[]> {
  const sizes = practice.rows("select kind, sha256 from media_files where photo_id = ? and kind in ('2048', '1024', '320')", photoId);
  if (sizes.length !== 3) return [`sizes of ${photoId}`];
  const answers = await Promise.all(sizes.map(async ({ kind, sha256: hash }) => {
    const { status, body } = await practice.ask(`/media/${childId}/${photoId}/${String(kind)}`, cookie);
    return status === 200 && sha256(Buffer.from(body, "latin1")) === hash;
  }));
  return answers.every(Boolean) ? [] : [`pictures of ${photoId}`];
}

/** What is half or broken in the folder as a whole; empty when all is well. */
export function brokenIn(practice: Practice): readonly string[] {
  const broken: string[] = [];
  const check = (pragma: string): unknown => practice.sql((db) => db.pragma(pragma));
  if (JSON.stringify(check("integrity_check")) !== '[{"integrity_check":"ok"}]') broken.push("integrity_check");
  if (JSON.stringify(check("foreign_key_check")) !== "[]") broken.push("foreign_key_check");
  broken.push(...brokenChain(practice));
  const onDisk = practice.mediaOnDisk().map((path) => basename(path));
  const known = practice.rows("select file_id as id from media_files").map(({ id }) => String(id));
  broken.push(...known.filter((id) => !onDisk.includes(id)).map((id) => `row without file ${id}`));
  const twice = "select photo_set_id from photos where removed_at is null group by photo_set_id, ordinal having count(*) > 1";
  if (practice.rows(twice).length > 0) broken.push("two photos in one place");
  if (practice.rows("select 1 from photo_sets s where sent_at is not null and photos_erased_at is null and not exists (select 1 from photos p where p.photo_set_id = s.id)").length > 0) broken.push("sent set without photos");
  if (practice.rows("select 1 from photos p where (select count(*) from media_files m where m.photo_id = p.id and m.kind in ('2048', '1024', '320')) <> 3").length > 0) broken.push("photo without its three sizes");
  if (practice.rows("select 1 from answers a where kind = 'answer' and not exists (select 1 from verdicts v where v.answer_id = a.id)").length > 0) broken.push("answer without verdicts");
  return broken;
}

/** Files that no row knows, of pictures and of archives. */
export function strays(practice: Practice): readonly string[] {
  const known = new Set(practice.rows("select file_id as id from media_files union all select file_id from export_parts").map(({ id }) => String(id)));
  return [...practice.mediaOnDisk(), ...practice.archivesOnDisk()].filter((path) => !known.has(basename(path)));
}

/** Two hours pass for the files on disk, so that the next start's sweep no longer waits for their rows. */
export function ageFiles(practice: Practice): void {
  const then = Date.now() / 1000 - 7200;
  for (const path of practice.mediaOnDisk()) utimesSync(path, then, then);
}

const CHAINED = ["at", "actor_id", "role", "act", "object_id", "family_id", "outcome", "request_id", "session_hash"] as const;

/** The chain of the audit, worked out anew: SHA-256 of the hash before and the entry's values as a JSON array. */
function brokenChain(practice: Practice): readonly string[] {
  const entries = practice.rows("select * from audit_entries order by sequence");
  let before = "0".repeat(64);
  for (const entry of entries) {
    const hash = createHash("sha256").update(JSON.stringify([before, ...CHAINED.map((name) => entry[name])])).digest("hex");
    if (entry["previous_hash"] !== before || entry["hash"] !== hash) return [`audit chain at ${String(entry["sequence"])}`];
    before = hash;
  }
  return entries.length > 0 ? [] : ["no audit"];
}

const one = (practice: Practice, query: string, ...values: readonly unknown[]): Readonly<Record<string, unknown>> => practice.rows(query, ...values)[0] ?? {};
