import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { expect, test, type Browser, type BrowserContext } from "@playwright/test";
import Database from "better-sqlite3";
import { LAPTOP, personAt, type Person, type PHONE } from "@/e2e/journey/person";
import { fillWithDemo } from "@/e2e/journey/pristine-demo";
import { startOwn, type OwnServer } from "@/e2e/own-server";
import { freePort } from "@/e2e/walk/port";
import { openCuttingLine, type CuttingLine } from "@/tests/proofs/cutting-line";

/**
 * A server with a demo practice of this file's own, for journeys that use up what waits in it, end its
 * sessions, cut its line or kill it. Called once at the top of a file.
 */
export function ownPractice() {
  const dataDir = mkdtempSync(join(tmpdir(), "trueside-own-"));
  let port = 0;
  let own: OwnServer;
  let line: CuttingLine;
  const baseURL = (): string => `http://localhost:${line.port}`;
  const serve = async (): Promise<void> => {
    own = startOwn({ PORT: String(port), DATA_DIR: dataDir, PUBLIC_URL: baseURL() });
    const isServing = await own.ready;
    expect(isServing ? "" : (await own.ended).err).toBe("");
  };

  const withDatabase = <T>(work: (db: Database.Database) => T): T => {
    const db = new Database(join(dataDir, "trueside.db"));
    try {
      return work(db);
    } finally {
      db.close();
    }
  };

  test.beforeAll(async () => {
    fillWithDemo(dataDir);
    port = await freePort();
    line = await openCuttingLine(port);
    await serve();
  });

  test.afterAll(async () => {
    own.process.kill("SIGTERM");
    await own.ended;
    line.sever();
    line.close();
    rmSync(dataDir, { recursive: true, force: true });
  });

  return {
    serve,
    /** As a power cut would. */
    kill: async (): Promise<void> => {
      own.process.kill("SIGKILL");
      await own.ended;
    },
    at: (browser: Browser, name: string, device: typeof PHONE | typeof LAPTOP = LAPTOP): Promise<Person> => personAt(browser, name, device, { baseURL: baseURL() }),
    baseURL,
    /**
     * No signal for anybody of this practice. The browser alone does not keep it up: between two pages its tools let go, the page that
     * is left hears that it is online again, and what it then sends arrives.
     */
    loseSignal: async (context: BrowserContext): Promise<void> => {
      line.sever();
      await context.setOffline(true);
    },
    findSignal: async (context: BrowserContext): Promise<void> => {
      line.mend();
      await context.setOffline(false);
    },
    withDatabase,
    /** As half a minute would: what can still be taken back is out. The journey of the drafts waits for that clock itself. */
    letAnswersOut: (): void => withDatabase((db) => {
      db.prepare("update answers set published_at = @now where published_at > @now and taken_back_at is null").run({ now: Date.now() });
    }),
  };
}
