import { randomBytes } from "node:crypto";
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test, vi } from "vitest";
import { renderToStaticMarkup } from "react-dom/server";
import { UpkeepPart } from "@/app/desk/practice/upkeep-part";
import { writeBackupState } from "@/lib/backup/state";
import { noteTried, readTried } from "@/lib/backup/tried";
import { addPerson, makeWorld } from "@/tests/records/world";

const NOW = Date.UTC(2026, 10, 28, 9);
const DAY_MS = 86_400_000;
let world: ReturnType<typeof makeWorld>;
let folder: string;
beforeEach(() => {
  world = makeWorld();
  folder = mkdtempSync(join(tmpdir(), "trueside-tried-"));
  vi.stubEnv("BACKUP_DIR", folder);
});
afterEach(() => {
  vi.unstubAllEnvs();
  world.close();
  rmSync(folder, { recursive: true, force: true });
});

test("that a restore was whole stands beside the backups, signed by their key alone", () => {
  const key = randomBytes(32);
  expect(readTried(folder, key)).toBeNull();
  expect(noteTried(folder, key, NOW)).toBe(true);
  expect(readTried(folder, key)).toBe(NOW);
  expect(readTried(folder, randomBytes(32))).toBeNull();
  // One backup of the folder, named by itself.
  const one = join(folder, "2026-11-27T21-15-00-000Z");
  mkdirSync(one);
  expect(noteTried(one, key, NOW + 1)).toBe(true);
  expect(readTried(folder, key)).toBe(NOW + 1);
  const written = readFileSync(join(folder, "restore-tried"), "utf8");
  writeFileSync(join(folder, "restore-tried"), written.replace(String(NOW + 1), String(NOW + 2)));
  expect(readTried(folder, key)).toBeNull();
  expect(noteTried(join(folder, "not-there"), key, NOW)).toBe(false);
});

test("the lead reads when one was last put back, and is warned where none ever was, or not for long", async () => {
  const lead = addPerson("lead", "lead");
  const page = async (restoreTriedAt: number | null | undefined) => {
    writeBackupState(world.dir, { madeAt: NOW, triedAt: NOW, fault: null, lost: 0, restoreTriedAt });
    return renderToStaticMarkup(await UpkeepPart({ actor: lead, zone: "Europe/London", now: NOW })).replace(/<[^>]*>/g, " ");
  };
  for (const never of [null, undefined]) expect(await page(never)).toMatch(/No backup of this practice was ever put back/);
  expect(await page(NOW - 34 * DAY_MS)).toMatch(/last put back and found whole on/);
  for (const old of [NOW - 36 * DAY_MS, NOW + 36 * DAY_MS]) expect(await page(old)).toMatch(/more than a month/);
});
