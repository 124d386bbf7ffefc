import { readdirSync, readFileSync, statSync } from "node:fs";
import { createServer, type Server } from "node:net";
import { join } from "node:path";
import { eq } from "drizzle-orm";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { database } from "@/db/client";
import { notices } from "@/db/schema/machinery";
import { people } from "@/db/schema/practice";
import { addNotice } from "@/lib/notices/add";
import type { Mail } from "@/lib/notices/compose";
import { deliverNotices } from "@/lib/notices/outbox";
import { writtenMails } from "@/lib/notices/send";
import { addPerson, makeWorld } from "@/tests/records/world";

const T = Date.UTC(2026, 2, 3, 16, 20);
const [MINUTE, HOUR] = [60_000, 3_600_000];
const KINDS = ["answer", "set-voided", "stop-placed", "stop-lifted", "symptom-cleared", "seen-live", "photo-set-sent", "read-back-wrong"];

let world: ReturnType<typeof makeWorld>;
beforeEach(() => {
  world = makeWorld();
  addPerson("Canary", "guardian");
});
afterEach(() => {
  delete process.env["SMTP_URL"];
  delete process.env["PUBLIC_URL"];
  world.close();
});

const add = (kind: string, dedupeKey = kind, now = T, values?: { readonly code: string; readonly key: string }): void =>
  database().transaction((tx) => addNotice(tx, { kind, personId: "Canary", dedupeKey, now, ...(values ? { values } : {}) }));
const rows = () => database().select().from(notices).all();

function collector(fault: (mail: Mail, nth: number) => boolean = () => false) {
  const sent: Mail[] = [];
  let nth = 0;
  return {
    sent,
    send: async (mail: Mail) => {
      nth += 1;
      if (fault(mail, nth)) throw Object.assign(new Error("mother@people.example is not here"), { code: "ECONNREFUSED" });
      sent.push(mail);
    },
  };
}

describe("the outbox", () => {
  it("sends each notice once, in order, however often it is added or looked at", async () => {
    add("answer", "a");
    add("answer", "a");
    add("answer", "b", T + 1);
    const { sent, send } = collector();
    for (let n = 0; n < 3; n += 1) await deliverNotices(database(), T + n, send);
    expect(sent.map(({ id }) => id)).toEqual(rows().map(({ id }) => id));
    expect(sent).toHaveLength(2);
  });

  it("leaves nothing when the act it belongs to rolls back", async () => {
    expect(() => database().transaction((tx) => {
      addNotice(tx, { kind: "answer", personId: "Canary", dedupeKey: "x", now: T });
      throw new Error("the act failed");
    })).toThrow("the act failed");
    expect(rows()).toEqual([]);
  });

  it("keeps trying later and later while mail is down for an hour, then sends each once, in order", async () => {
    add("answer", "a");
    add("answer", "b", T + 1);
    let isDown = true;
    let tries = 0;
    const { sent, send } = collector(() => {
      tries += 1;
      return isDown;
    });
    for (let at = T + 1; at < T + HOUR; at += 1000) await deliverNotices(database(), at, send);
    expect(tries).toBeLessThan(20);
    isDown = false;
    for (let at = T + HOUR; at < T + 3 * HOUR; at += MINUTE) await deliverNotices(database(), at, send);
    expect(sent.map(({ id }) => id)).toEqual(rows().map(({ id }) => id));
  });

  it("gives up after twelve tries and says so", async () => {
    add("answer");
    const { sent, send } = collector(() => true);
    let tries = 0;
    for (let at = T; at < T + 72 * HOUR; at += MINUTE) tries += (await deliverNotices(database(), at, send)).gaveUp;
    expect(tries).toBe(1);
    expect(rows()[0]).toMatchObject({ tries: 12, sentAt: null, gaveUpAt: expect.any(Number) });
    expect(sent).toEqual([]);
  });

  it("one bad notice does not hold back the next", async () => {
    add("answer", "a");
    add("answer", "b", T + 1);
    const { sent, send } = collector((_mail, nth) => nth === 1);
    await deliverNotices(database(), T + 1, send);
    expect(sent).toHaveLength(1);
  });

  it("is sent again after a crash between sending and noting it, with the same message id", async () => {
    add("answer");
    const { sent, send } = collector();
    // The process dies here: the mail is out, the row still only claimed.
    const dying = deliverNotices(database(), T, async (mail) => {
      sent.push(mail);
      await new Promise(() => {});
    });
    await Promise.race([dying, new Promise((resolve) => { setTimeout(resolve, 50); })]);
    await deliverNotices(database(), T + 1000, send);
    expect(sent).toHaveLength(1);
    await deliverNotices(database(), T + 2 * MINUTE, send);
    expect(sent).toHaveLength(2);
    expect(sent[0]?.id).toBe(sent[1]?.id);
    expect(rows()[0]?.sentAt).toBe(T + 2 * MINUTE);
  });

  it("two at work at once send nothing twice", async () => {
    for (let n = 0; n < 20; n += 1) add("answer", `n${n}`);
    const { sent, send } = collector();
    const slow = async (mail: Mail) => {
      await new Promise((resolve) => { setTimeout(resolve, 1); });
      await send(mail);
    };
    await Promise.all([deliverNotices(database(), T, slow), deliverNotices(database(), T, slow)]);
    expect(new Set(sent.map(({ id }) => id)).size).toBe(20);
    expect(sent).toHaveLength(20);
  });

  it("drops a code that has run out, and mail to somebody without access", async () => {
    add("sign-in-code", "c", T, { code: "12345678", key: "k" });
    add("answer");
    const { sent, send } = collector();
    database().update(people).set({ disabledAt: T }).where(eq(people.id, "Canary")).run();
    await deliverNotices(database(), T, send);
    database().update(people).set({ disabledAt: null }).where(eq(people.id, "Canary")).run();
    add("sign-in-code", "d", T, { code: "12345678", key: "k" });
    await deliverNotices(database(), T + 10 * MINUTE, send);
    expect(sent).toEqual([]);
    expect(rows().map(({ gaveUpAt, sealedValues }) => [gaveUpAt !== null, sealedValues])).toEqual([[true, null], [true, null], [true, null]]);
  });
});

describe("the words of a mail", () => {
  it("are the same for every kind of news, and name nobody", async () => {
    for (const kind of KINDS) add(kind);
    const { sent, send } = collector();
    await deliverNotices(database(), T, send);
    expect(sent).toHaveLength(KINDS.length);
    expect(new Set(sent.map(({ subject, text }) => `${subject}\n${text}`)).size).toBe(1);
    for (const { subject, text } of sent) expect(`${subject} ${text}`).not.toMatch(/canary|child|photo|spine|stop|symptom|practice\.|<img|<a/i);
  });

  it("calls staff at once when something hurts, still without saying what or whom", async () => {
    add("symptom-urgent");
    const { sent, send } = collector();
    await deliverNotices(database(), T, send);
    expect(sent[0]?.subject).toBe("Please look at Trueside now");
    expect(sent[0]?.text).not.toMatch(/canary|child|pain|symptom|urgent/i);
  });

  it("links to the configured address alone", async () => {
    process.env["PUBLIC_URL"] = "https://practice.example";
    add("sign-in-code", "c", T, { code: "12345678", key: "k-1" });
    const { sent, send } = collector();
    await deliverNotices(database(), T, send);
    expect(sent[0]?.text.match(/https?:\S+/g)).toEqual(["https://practice.example/sign-in/link?key=k-1"]);
  });
});

describe("mail without a mail server", () => {
  it("lands whole in the outbox folder, for this account alone, and is listed newest first", async () => {
    add("sign-in-code", "c", T, { code: "12345678", key: "k".repeat(43) });
    await deliverNotices(database(), T);
    add("answer", "a", T + 1000);
    await deliverNotices(database(), T + 1000);
    const folder = join(world.dir, "outbox");
    expect(readdirSync(folder).every((name) => name.endsWith(".eml"))).toBe(true);
    for (const name of readdirSync(folder)) expect(statSync(join(folder, name)).mode & 0o777).toBe(0o600);
    const mails = writtenMails(10);
    expect(mails.map(({ to }) => to)).toEqual(["Canary@people.example", "Canary@people.example"]);
    expect(mails[1]?.text).toContain("12345678");
    const bytes = readFileSync(join(folder, mails[1]?.file ?? ""), "utf8");
    // RFC 5322, section 2.1.1: no line over 998 characters, each ended by CRLF.
    expect(bytes.split("\r\n").every((line) => line.length <= 998 && !line.includes("\n"))).toBe(true);
    expect(bytes).toContain("Date: Tue, 03 Mar 2026 16:20:00 +0000\r\n");
  });
});

/** As much of RFC 5321 as one mail needs; keeps what it was told. */
async function mailServer(): Promise<{ readonly port: number; readonly said: string[]; readonly server: Server }> {
  const said: string[] = [];
  const server = createServer((socket) => {
    let isBody = false;
    let rest = "";
    socket.write("220 here\r\n");
    socket.on("data", (bytes) => {
      const lines = (rest + bytes.toString()).split("\r\n");
      rest = lines.pop() ?? "";
      for (const line of lines) {
        said.push(line);
        if (isBody) {
          if (line !== ".") continue;
          isBody = false;
          socket.write("250 kept\r\n");
        } else if (/^DATA/i.test(line)) {
          isBody = true;
          socket.write("354 go on\r\n");
        } else if (/^QUIT/i.test(line)) socket.end("221 bye\r\n");
        else socket.write("250 fine\r\n");
      }
    });
  });
  await new Promise<void>((resolve) => { server.listen(0, "127.0.0.1", resolve); });
  const at = server.address();
  return { port: typeof at === "object" && at ? at.port : 0, said, server };
}

describe("mail through a mail server", () => {
  it("goes to the one stored address, and waits when the server is not there", async () => {
    const { port, said, server } = await mailServer();
    process.env["SMTP_URL"] = `smtp://127.0.0.1:${port}`;
    add("answer");
    expect(await deliverNotices(database(), T)).toEqual({ sent: 1, failed: 0, gaveUp: 0 });
    expect(said.filter((line) => /^RCPT/i.test(line))).toEqual(["RCPT TO:<Canary@people.example>"]);
    expect(said).toContain("Subject: Something new is waiting for you in Trueside");
    await new Promise((resolve) => { server.close(resolve); });
    add("answer", "b");
    expect(await deliverNotices(database(), T)).toEqual({ sent: 0, failed: 1, gaveUp: 0 });
    expect(rows()[1]).toMatchObject({ tries: 1, sentAt: null, nextTryAt: T + 15_000 });
  });
});
