import { randomBytes } from "node:crypto";
import { existsSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { dataDir, database, openToRead } from "@/db/client";
import { families } from "@/db/schema/care";
import { mediaFiles } from "@/db/schema/photos";
import { invitations, sessions } from "@/db/schema/sign-in";
import { grant } from "@/lib/access/grant";
import { affectedBy } from "@/lib/audit/affected";
import { checkFolder } from "@/lib/backup/check-folder";
import { restoreBackup } from "@/lib/backup/restore";
import { takeBackup } from "@/lib/backup/take";
import { affectedInWords } from "@/lib/cli/affected-said";
import { openFolderStore } from "@/lib/media/folder-store";
import { openPracticeStore } from "@/lib/media/practice-store";
import { openSecrets } from "@/lib/media/secrets";
import { pictureOf } from "@/lib/records/media";
import { disablePerson } from "@/lib/records/people";
import { rotateKey } from "@/lib/records/rotate-key";
import { applyTombstones } from "@/lib/records/tombstones";
import { filesUnder, read } from "@/tests/contract/sources";
import { addPicture, addSet, answeringWorld, HOUR, NOW, send } from "@/tests/records/answering-scene";

// The runbook (lib/trust/breach.md) played through on an invented practice: GDPR Art. 33(3)(a) and 33(5) ask for whom it concerns and what was done.

let world: ReturnType<typeof answeringWorld>;
let aside: string;
let served: string;
beforeEach(async () => {
  world = answeringWorld();
  served = dataDir();
  aside = mkdtempSync(join(tmpdir(), "trueside-breach-"));
  writeFileSync(join(served, "kind"), "real\n");
  addSet("set");
  addSet("other", { childId: "child-3" });
  await addPicture("child-3", "other-photo-1", randomBytes(70_000));
  const session = { createdAt: NOW - HOUR, lastSeenAt: NOW, endsAt: Date.now() + HOUR, provedAt: NOW } as const;
  database().insert(sessions).values([{ ...session, id: "stolen", personId: "colleague", tokenHash: "session-colleague" }, { ...session, id: "mother", personId: "mother", tokenHash: "session-mother" }]).run();
});
afterEach(() => {
  database().$client.close();
  process.env["DATA_DIR"] = served;
  world.close();
  rmSync(aside, { recursive: true });
});

const concerned = () => {
  const client = openToRead(join(dataDir(), "trueside.db"));
  try {
    return affectedBy(client, { person: "colleague@people.example" }, NOW - HOUR);
  } finally {
    client.close();
  }
};
const open = () => database().select({ id: sessions.id, endedAt: sessions.endedAt }).from(sessions).all().filter(({ endedAt }) => endedAt === null).map(({ id }) => id);
/** What a thief does with a laptop that is signed in. */
async function steal(): Promise<void> {
  await grant(world.colleague, "child.read", "child-2");
  expect(await pictureOf(await grant(world.colleague, "photo.view", "child-3"), "other-photo-1", "2048", NOW)).not.toBeNull();
}

test("a stolen laptop: whom it concerns is a list of families, and access ends with the act", async () => {
  expect((await send(world.therapist, "set")).ok).toBe(true);
  await steal();
  const { touched, withinReach, signIns } = concerned();
  expect(touched.map(({ familyId, childId }) => [familyId, childId])).toEqual([["family-a", "child-2"], ["family-b", "child-3"]]);
  expect(withinReach).toHaveLength(3);
  expect(signIns.map(({ sessionHash }) => sessionHash)).toEqual(["session-colleague"]);
  // The lead finds each family by its id.
  const known = new Set(database().select({ id: families.id }).from(families).all().map(({ id }) => id));
  expect(touched.every(({ familyId }) => known.has(familyId))).toBe(true);
  expect(affectedInWords(concerned()).join("\n")).not.toMatch(/people\.example|@/);
  const lead = { ...world.lead, provedAt: Date.now() };
  expect((await disablePerson(await grant(lead, "staff.manage", null), "colleague", Date.now())).ok).toBe(true);
  expect(open()).toEqual(["mother"]);
  expect(database().$client.prepare("select object_id from audit_entries where act = 'staff.disabled' and actor_id = 'lead'").pluck().all()).toEqual(["colleague"]);
});

test("a server that was broken into: a new folder from the backup, nobody signed in, a key that the thief has opens nothing of it", async () => {
  await steal();
  const backupKey = randomBytes(32);
  const stolen = openSecrets(served).mediaKey;
  database().insert(invitations).values({ id: "open", personId: "father", linkHash: "x", createdBy: "lead", createdAt: NOW, expiresAt: Date.now() + HOUR }).run();
  await takeBackup(served, join(aside, "backups"), { key: backupKey, isKept: false }, Date.now());
  const target = join(aside, "restored");
  mkdirSync(target);
  process.env["DATA_DIR"] = target;
  await restoreBackup(join(aside, "backups"), target, backupKey, applyTombstones, Date.now());
  expect(open()).toEqual([]);
  expect(database().select({ revokedAt: invitations.revokedAt }).from(invitations).all().every(({ revokedAt }) => revokedAt !== null)).toBe(true);
  await rotateKey(database(), target, Date.now());
  expect((await checkFolder(target, Date.now())).findings.filter(({ found }) => found !== "mark-unreadable")).toEqual([]);
  const files = database().select({ fileId: mediaFiles.fileId }).from(mediaFiles).all();
  expect(files.length).toBeGreaterThan(0);
  for (const { fileId } of files) {
    await openPracticeStore(target).read(fileId);
    await expect(openFolderStore(join(target, "media"), { current: stolen }).read(fileId)).rejects.toMatchObject({ fault: "unknown-key" });
  }
  // The list is the same from the restored folder: it needs no server and no stolen disk.
  expect(concerned().touched.map(({ childId }) => childId)).toEqual(["child-2", "child-3"]);
});

test("every page, command and ability that the runbook names is there", () => {
  const runbook = read("lib/trust/breach.md");
  const scripts = (JSON.parse(read("package.json")) as { readonly scripts: Readonly<Record<string, string>> }).scripts; // npm's own form
  const commands = [...runbook.matchAll(/npm run ([\w-]+)/g)].map(([, name = ""]) => name);
  expect(new Set(commands)).toEqual(new Set(["affected", "verify", "restore", "rotate-key", "reset-lead"]));
  expect(commands.filter((name) => !(name in scripts))).toEqual([]);
  const pages = [...runbook.matchAll(/`(\/(?:desk|family)[\w/]*?)(?:\/ID)?`/g)].map(([, path = ""]) => path);
  expect(pages.length).toBeGreaterThan(3);
  const routes = filesUnder(["app"], /\/page\.tsx$/);
  expect(pages.filter((path) => !routes.some((file) => file.startsWith(`app${path}/`)))).toEqual([]);
  expect(existsSync("lib/deploy/README.md")).toBe(true);
});
