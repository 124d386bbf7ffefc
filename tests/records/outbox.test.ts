import { readdirSync, readFileSync, statSync } from "node:fs";
import { createServer, type Server } from "node:net";
import { join } from "node:path";
import { eq } from "drizzle-orm";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { database } from "@/db/client";
import { notices } from "@/db/schema/machinery";
import { people } from "@/db/schema/practice";
import { noticeChoices } from "@/db/schema/reach";
import { NOTICE_KINDS, hasOwnWords, type NoticeChoice, type NoticeKind } from "@/lib/domain/notices/kinds";
import { addNotice } from "@/lib/notices/add";
import type { Mail } from "@/lib/notices/compose";
import { deliverNotices } from "@/lib/notices/outbox";
import { writtenMails } from "@/lib/notices/send";
import { addPerson, makeWorld } from "@/tests/records/world";

const T = Date.UTC(2026, 2, 3, 16, 20);
const [MINUTE, HOUR] = [60_000, 3_600_000];
const KINDS = (Object.keys(NOTICE_KINDS) as NoticeKind[]).filter((kind) => !hasOwnWords(kind)); // the table's own keys

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

const add = (kind: NoticeKind, dedupeKey: string = kind, now = T, values?: { readonly code: string; readonly key: string }, personId = "Canary"): void =>
  database().transaction((tx) => addNotice(tx, { kind, personId, dedupeKey, now, ...(values ? { values } : {}) }));
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
    add("answer", "b", T + 1000);
    let isDown = true;
    let tries = 0;
    const { sent, send } = collector(() => {
      tries += 1;
      return isDown;
    });
    for (let at = T; at < T + HOUR; at += 1000) await deliverNotices(database(), at, send);
    expect(tries).toBeLessThan(20);
    isDown = false;
    for (let at = T + HOUR; at < T + 3 * HOUR; at += MINUTE) await deliverNotices(database(), at, send);
    expect(sent.map(({ id }) => id)).toEqual(rows().map(({ id }) => id));
  });

  it("gives up after sixteen tries and says so", async () => {
    add("answer");
    const { sent, send } = collector(() => true);
    let tries = 0;
    for (let at = T; at < T + 72 * HOUR; at += MINUTE) tries += (await deliverNotices(database(), at, send)).gaveUp;
    expect(tries).toBe(1);
    expect(rows()[0]).toMatchObject({ tries: 16, sentAt: null, gaveUpAt: expect.any(Number) });
    expect(sent).toEqual([]);
  });

  it("one bad notice does not hold back the next", async () => {
    add("answer", "a");
    addPerson("other", "guardian");
    add("answer", "b", T + 1, undefined, "other");
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
    for (let n = 0; n < 20; n += 1) {
      addPerson(`p${n}`, "guardian");
      add("answer", `n${n}`, T, undefined, `p${n}`);
    }
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

describe("what leaves as one mail", () => {
  it("is all that waits for one person, and never a code", async () => {
    addPerson("other", "guardian");
    for (const kind of KINDS) add(kind);
    add("answer", "theirs", T, undefined, "other");
    add("sign-in-code", "c", T, { code: "12345678", key: "k" });
    add("sign-in-code", "d", T, { code: "87654321", key: "k" });
    const { sent, send } = collector();
    expect(await deliverNotices(database(), T, send)).toEqual({ sent: 4, failed: 0, gaveUp: 0 });
    expect(sent.map(({ to }) => to).sort()).toEqual([...Array<string>(3).fill("Canary@people.example"), "other@people.example"]);
    expect(rows().every(({ sentAt }) => sentAt === T)).toBe(true);
  });

  it("stays as it was tried: what comes later is a mail of its own", async () => {
    add("answer", "a");
    add("answer", "b", T + 1);
    const { sent, send } = collector((_mail, nth) => nth === 1);
    await deliverNotices(database(), T + 1, send);
    add("answer", "c", T + 2);
    for (let at = T + 2; at < T + MINUTE; at += 1000) await deliverNotices(database(), at, send);
    const [a, b, c] = rows();
    expect(sent.map(({ id }) => id)).toEqual([c?.id, a?.id]);
    expect(b?.sentAt).toBe(a?.sentAt);
  });
});

describe("what a person chose", () => {
  const choose = (kind: NoticeChoice, isOn: boolean) =>
    database().insert(noticeChoices).values({ personId: "Canary", kind, isOn, chosenAt: T }).onConflictDoUpdate({ target: [noticeChoices.personId, noticeChoices.kind], set: { isOn } }).run();
  const sentOf = async (kind: NoticeKind, at = T): Promise<boolean> => {
    add(kind, `${kind}-${at}`, at, hasOwnWords(kind) ? { code: "12345678", key: "k" } : undefined);
    const { sent, send } = collector();
    await deliverNotices(database(), at, send);
    return sent.length === 1;
  };

  it("holds back news and reminders, each by its own switch, and nothing that must come", async () => {
    choose("news", false);
    choose("reminders", true);
    for (const [kind, choice] of Object.entries(NOTICE_KINDS) as [NoticeKind, NoticeChoice | null][]) expect([kind, await sentOf(kind)]).toEqual([kind, choice !== "news"]);
    choose("news", true);
    choose("reminders", false);
    expect([await sentOf("answer", T + 1), await sentOf("photo-reminder", T + 1)]).toEqual([true, false]);
    // Written out once more by hand: what no table may ever let anybody switch off.
    const must = ["sign-in-code", "invitation", "stop-placed", "answer-stop", "seen-live-stop", "set-voided", "symptom-urgent", "symptom-today", "read-back-wrong"] as const;
    expect(must.map((kind) => NOTICE_KINDS[kind])).toEqual(must.map(() => null));
  });

  it("keeps news until quiet hours end, then sends one mail; a stop, a code and an alarm do not wait", async () => {
    // 22:20 in Kathmandu (UTC+05:45) is quiet, though 16:35 in the practice's London is not.
    const night = Date.UTC(2026, 2, 3, 16, 35);
    database().update(people).set({ timeZone: "Asia/Kathmandu", quietFrom: 21 * 60, quietUntil: 7 * 60 }).where(eq(people.id, "Canary")).run();
    expect(await sentOf("answer", night)).toBe(false);
    expect(await sentOf("photo-reminder", night + 1)).toBe(false);
    for (const kind of ["stop-placed", "sign-in-code", "symptom-urgent", "answer-stop"] as const) expect([kind, await sentOf(kind, night + 2)]).toEqual([kind, true]);
    const morning = Date.UTC(2026, 2, 4, 1, 15);
    const { sent, send } = collector();
    for (let at = night + 3; at < morning; at += 10 * MINUTE) await deliverNotices(database(), at, send);
    await deliverNotices(database(), morning - 1, send);
    expect(sent).toEqual([]);
    await deliverNotices(database(), morning, send);
    expect(sent).toHaveLength(1);
    expect(rows().every(({ sentAt }) => sentAt !== null)).toBe(true);
  });
});

describe("the words of a mail", () => {
  it("are one subject for all, and one text of one length for all news, and name nobody", async () => {
    const lengths = new Set<number>();
    const texts = new Set<string>();
    for (const [n, kind] of [...KINDS, "sign-in-code" as const, "invitation" as const].entries()) {
      add(kind, kind, T + n, hasOwnWords(kind) ? { code: "12345678", key: "k" } : undefined);
      const { sent, send } = collector();
      await deliverNotices(database(), T + n, send);
      const [mail] = sent;
      expect(mail?.subject).toBe("Something new is waiting for you in Trueside");
      expect(`${mail?.text} ${mail?.subject}`).not.toMatch(/canary|child|photo|spine|stop|symptom|urgent|pain|alarm|practice\.|<img|<a/i);
      if (hasOwnWords(kind)) continue;
      lengths.add(mail?.text.length ?? 0);
      // The key is sealed anew each time and of one length; all else is letter for letter the same.
      texts.add(mail?.text.replace(/key=[\w-]+/, "key=") ?? "");
    }
    expect([lengths.size, texts.size]).toEqual([1, 1]);
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
