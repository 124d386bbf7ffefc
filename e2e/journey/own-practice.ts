import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { expect, test, type Browser } from "@playwright/test";
import Database from "better-sqlite3";
import { LAPTOP, personAt, type Person, type PHONE } from "@/e2e/journey/person";
import { fillWithDemo } from "@/e2e/journey/pristine-demo";
import { startOwn, type OwnServer } from "@/e2e/own-server";
import { freePort } from "@/e2e/walk/port";

/**
 * A server with a demo practice of this file's own, for journeys that use up what waits in it, end its
 * sessions or kill it. Called once at the top of a file.
 */
export function ownPractice() {
  const dataDir = mkdtempSync(join(tmpdir(), "trueside-own-"));
  let port = 0;
  let own: OwnServer;
  const serve = async (): Promise<void> => {
    own = startOwn({ PORT: String(port), DATA_DIR: dataDir });
    const isServing = await own.ready;
    expect(isServing ? "" : (await own.ended).err).toBe("");
  };

  test.beforeAll(async () => {
    fillWithDemo(dataDir);
    port = await freePort();
    await serve();
  });

  test.afterAll(async () => {
    own.process.kill("SIGTERM");
    await own.ended;
    rmSync(dataDir, { recursive: true, force: true });
  });

  return {
    serve,
    /** As a power cut would. */
    kill: async (): Promise<void> => {
      own.process.kill("SIGKILL");
      await own.ended;
    },
    at: (browser: Browser, name: string, device: typeof PHONE | typeof LAPTOP = LAPTOP): Promise<Person> => personAt(browser, name, device, { baseURL: `http://localhost:${port}` }),
    baseURL: () => `http://localhost:${port}`,
    withDatabase: <T>(work: (db: Database.Database) => T): T => {
      const db = new Database(join(dataDir, "trueside.db"));
      try {
        return work(db);
      } finally {
        db.close();
      }
    },
  };
}
