import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { expect, test } from "@playwright/test";
import Database from "better-sqlite3";
import { fillWithDemo } from "@/e2e/journey/pristine-demo";
import { maybeSamePicture } from "@/lib/domain/photo/perceptual-hash";

/** The desk would warn of a picture sent for the wrong child, where the demo has none. */
test("no two children of the demo have pictures that look like the same one", () => {
  const folder = mkdtempSync(join(tmpdir(), "trueside-demo-"));
  try {
    fillWithDemo(folder);
    const db = new Database(join(folder, "trueside.db"), { readonly: true });
    const pictures = db.prepare("select given_name as name, hash from photos join children on children.id = photos.child_id").all() as { name: string; hash: string }[]; // the two columns named
    db.close();
    const alike = pictures.flatMap((a, at) => pictures.slice(at + 1).filter((b) => b.name !== a.name && maybeSamePicture(a.hash, b.hash)).map((b) => `${a.name}, ${b.name}`));
    expect(new Set(pictures.map(({ name }) => name)).size).toBeGreaterThan(8);
    expect(alike).toEqual([]);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
});
