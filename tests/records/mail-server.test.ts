import type { Socket } from "node:net";
import { SMTPServer, type SMTPServerOptions, type SMTPServerSession } from "smtp-server";
import { eq } from "drizzle-orm";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { database } from "@/db/client";
import { children, families } from "@/db/schema/care";
import { notices } from "@/db/schema/machinery";
import { people } from "@/db/schema/practice";
import { grant } from "@/lib/access/grant";
import { NOTICE_KINDS, hasOwnWords, type NoticeKind } from "@/lib/domain/notices/kinds";
import { say } from "@/lib/messages/say";
import { addNotice } from "@/lib/notices/add";
import { deliverNotices } from "@/lib/notices/outbox";
import { sendMail } from "@/lib/notices/send";
import { switchOffByKey } from "@/lib/records/notice-choices";
import { reportSymptoms } from "@/lib/records/symptoms";
import { placeStop } from "@/lib/records/stops";
import { addSet, answeringWorld, NOW, send, verdictsOf } from "@/tests/records/answering-scene";

// The server is the registry's `smtp-server`: RFC 5321 and STARTTLS (RFC 3207) by other hands than the client's.

type Got = { readonly from: string; readonly to: readonly string[]; readonly raw: string; readonly secure: boolean };
type Server = { readonly got: Got[]; readonly heard: string[]; hangUp(): void; close(): Promise<void> };
const MINUTE = 60_000;

let world: ReturnType<typeof answeringWorld>;
let server: Server | null = null;
beforeEach(() => {
  world = answeringWorld();
});
afterEach(async () => {
  await server?.close();
  server = null;
  for (const name of ["SMTP_URL", "PUBLIC_URL", "MAIL_FROM"]) delete process.env[name];
  world.close();
});

async function serve(options: SMTPServerOptions = {}, host = "127.0.0.1", query = ""): Promise<Server> {
  const got: Got[] = [];
  const heard: string[] = [];
  const smtp = new SMTPServer({
    authOptional: true, logger: false,
    onMailFrom(address, _session, done) {
      heard.push(address.address);
      done();
    },
    onData(stream, session, done) {
      read(stream).then((raw) => {
        got.push(gotOf(session, raw));
        done();
      }, done);
    },
    ...options,
  });
  smtp.on("error", () => {}); // a client that hangs up is what some tests are about
  const sockets = new Set<Socket>();
  smtp.server.on("connection", (socket: Socket) => sockets.add(socket));
  await new Promise<void>((resolve) => { smtp.listen(0, host, () => resolve()); });
  const at = smtp.server.address();
  const port = typeof at === "object" && at ? at.port : 0;
  process.env["SMTP_URL"] = `smtp://${host}:${port}${query}`;
  server = { got, heard, hangUp: () => { for (const socket of sockets) socket.destroy(); }, close: () => new Promise((resolve) => { smtp.close(() => resolve()); }) };
  return server;
}

async function read(stream: AsyncIterable<Uint8Array>): Promise<string> {
  const parts: Uint8Array[] = [];
  for await (const part of stream) parts.push(part);
  return Buffer.concat(parts).toString("utf8");
}

const gotOf = ({ envelope, secure }: SMTPServerSession, raw: string): Got =>
  ({ from: envelope.mailFrom ? envelope.mailFrom.address : "", to: envelope.rcptTo.map(({ address }) => address), raw, secure });

/** Headers unfolded (RFC 5322, 2.2.3) and the text with its transfer encoding undone (RFC 2045, 6.7). */
function parsed(raw: string): { readonly headers: readonly (readonly [string, string])[]; readonly text: string } {
  const [head = "", ...body] = raw.split("\r\n\r\n");
  const headers = head.replace(/\r\n(?=[ \t])/g, "").split("\r\n").map((line): [string, string] => [line.slice(0, line.indexOf(":")).toLowerCase(), line.slice(line.indexOf(":") + 1).trim()]);
  const encoding = headers.find(([name]) => name === "content-transfer-encoding")?.[1];
  const text = body.join("\r\n\r\n");
  if (encoding !== "quoted-printable") {
    expect(["7bit", "8bit"]).toContain(encoding);
    return { headers, text };
  }
  const bytes = text.replace(/=\r\n/g, "").replace(/=([0-9A-F]{2})/g, (_whole, hex: string) => String.fromCharCode(parseInt(hex, 16)));
  return { headers, text: Buffer.from(bytes, "latin1").toString("utf8") };
}

const add = (kind: NoticeKind, dedupeKey: string = kind, personId = "mother"): void =>
  database().transaction((tx) => addNotice(tx, { kind, personId, dedupeKey, now: NOW, ...(hasOwnWords(kind) ? { values: { code: "12345678", key: "k" } } : {}) }));
const row = () => database().select().from(notices).all()[0];
const deliver = (now = NOW) => deliverNotices(database(), now);

describe("a mail on the line", () => {
  it("goes from the set sender to the one stored address, as plain text under one id", async () => {
    process.env["PUBLIC_URL"] = "https://photos.example.org";
    const { got } = await serve();
    add("answer");
    expect(await deliver()).toEqual({ sent: 1, failed: 0, gaveUp: 0 });
    const [mail] = got;
    expect([mail?.from, mail?.to]).toEqual(["no-reply@photos.example.org", ["mother@people.example"]]);
    const { headers, text } = parsed(mail?.raw ?? "");
    const all = (name: string) => headers.filter(([each]) => each === name).map(([, value]) => value);
    expect(all("from")).toEqual(["Trueside <no-reply@photos.example.org>"]);
    expect(all("to")).toEqual(["mother@people.example"]);
    expect(all("subject")).toEqual(["Something new is waiting for you in Trueside"]);
    expect(all("message-id")).toEqual([`<${row()?.id}@photos.example.org>`]);
    expect(all("date")).toEqual(["Wed, 04 Mar 2026 10:00:00 +0000"]);
    expect(all("content-type")[0]).toMatch(/^text\/plain; charset=utf-8/);
    expect([...all("cc"), ...all("bcc"), ...all("reply-to")]).toEqual([]);
    // RFC 8058: the address in the header switches off, and the one in the text is for people.
    const key = /^<https:\/\/photos\.example\.org\/mail-off\/press\?key=([\w-]+)>$/.exec(all("list-unsubscribe")[0] ?? "")?.[1] ?? "";
    expect(all("list-unsubscribe-post")).toEqual(["List-Unsubscribe=One-Click"]);
    expect(text).toContain(`https://photos.example.org/mail-off?key=${key}`);
    expect(await switchOffByKey(key, NOW)).toBe(true);
  });

  it("offers no switch where the mail is a code or an invitation, nor over plain http", async () => {
    const { got } = await serve();
    add("answer");
    await deliver();
    process.env["PUBLIC_URL"] = "https://photos.example.org";
    add("sign-in-code");
    add("invitation");
    await deliver();
    expect(got).toHaveLength(3);
    for (const { raw } of got) expect(raw).not.toMatch(/^list-/im);
  });

  it("does not leave for another machine without TLS, nor trust a certificate of nobody", async () => {
    // 0.0.0.0 reaches this machine without being one of its names.
    const plain = await serve({ disabledCommands: ["STARTTLS"] }, "0.0.0.0");
    add("answer");
    expect(await deliver()).toEqual({ sent: 0, failed: 1, gaveUp: 0 });
    expect([plain.heard, plain.got]).toEqual([[], []]);
    await plain.close();
    const unknown = await serve({}, "0.0.0.0");
    expect(await deliver(NOW + MINUTE)).toEqual({ sent: 0, failed: 1, gaveUp: 0 });
    expect([unknown.heard, unknown.got]).toEqual([[], []]);
    await unknown.close();
    const trusted = await serve({}, "0.0.0.0", "?tls.rejectUnauthorized=false");
    expect(await deliver(NOW + 10 * MINUTE)).toEqual({ sent: 1, failed: 0, gaveUp: 0 });
    expect(trusted.got.map(({ secure }) => secure)).toEqual([true]);
  });
});

describe("a hostile address or name", () => {
  const HOSTILE = [
    "a@x.example\r\nBcc: b@x.example", "a@x.example\nTo: b@x.example", "a@x.example\r\n\r\nbody", "a@x.example, b@x.example", "a@x.example;b@x.example", "a@x.example b@x.example",
    "Name <a@x.example>", "<a@x.example>", "a@x.example>,<b@x.example", '"a@x.example, b"@x.example', "a@x.example\0", "a@x.example\u2028Bcc: b@x.example", "a@x.example> NOTIFY=SUCCESS", "group:a@x.example;", "a@b@x.example", "", " a@x.example", "a＠x.example",
  ];

  it("reaches no server, by whatever way it got into the database", async () => {
    const { got, heard } = await serve();
    for (const to of HOSTILE) await expect(sendMail({ id: "i", to, subject: "s", text: "t", offUrl: null }, NOW), to).rejects.toMatchObject({ code: "EADDRESS" });
    delete process.env["SMTP_URL"];
    for (const to of HOSTILE) await expect(sendMail({ id: "i", to, subject: "s", text: "t", offUrl: null }, NOW), to).rejects.toMatchObject({ code: "EADDRESS" });
    expect([got, heard]).toEqual([[], []]);
  });

  it("in a name of a person or child is in no mail", async () => {
    const name = "Eve\r\nBcc: b@x.example <c@x.example>, ";
    database().update(people).set({ name }).run();
    database().update(children).set({ givenName: name }).run();
    const { got } = await serve();
    add("answer");
    await deliver();
    expect(got.map(({ to }) => to)).toEqual([["mother@people.example"]]);
    expect(got[0]?.raw).not.toMatch(/bcc|Eve|c@x/i);
  });
});

describe("a server that does not take it", () => {
  const refusing = (responseCode: number, at: "onRcptTo" | "onData"): SMTPServerOptions => {
    const error = Object.assign(new Error("no"), { responseCode });
    return at === "onRcptTo"
      ? { onRcptTo: (_address, _session, done) => done(error) }
      : { onData: (stream, _session, done) => { read(stream).then(() => done(error), done); } };
  };

  it.each([[451, "onRcptTo"], [550, "onRcptTo"], [452, "onData"], [554, "onData"]] as const)("with %i in %s is tried again later, and the mail leaves once it does", async (code, at) => {
    const refuses = await serve(refusing(code, at));
    add("answer");
    expect(await deliver()).toEqual({ sent: 0, failed: 1, gaveUp: 0 });
    expect(row()).toMatchObject({ tries: 1, sentAt: null, gaveUpAt: null, nextTryAt: NOW + 15_000 });
    await refuses.close();
    const { got } = await serve();
    expect(await deliver(NOW + 14_999)).toEqual({ sent: 0, failed: 0, gaveUp: 0 });
    expect(await deliver(NOW + 15_000)).toEqual({ sent: 1, failed: 0, gaveUp: 0 });
    expect(await deliver(NOW + MINUTE)).toEqual({ sent: 0, failed: 0, gaveUp: 0 });
    expect(got).toHaveLength(1);
  });

  it("for good, or is not there, is given up after sixteen tries over more than a day", async () => {
    const { close } = await serve(refusing(550, "onRcptTo"));
    add("answer");
    for (let n = 0; n < 6; n += 1) await deliver(row()?.nextTryAt);
    await close();
    server = null;
    let last = 0;
    for (let n = 0; n < 10; n += 1) {
      last = row()?.nextTryAt ?? 0;
      await deliver(last);
    }
    expect(row()).toMatchObject({ tries: 16, sentAt: null, gaveUpAt: last });
    expect(last - NOW).toBeGreaterThan(24 * 60 * MINUTE);
  });

  it("that took it and died before saying so gets the same mail again under the same id", async () => {
    const taken: string[] = [];
    const dying: Server = await serve({
      onData(stream) {
        read(stream).then((raw) => {
          taken.push(raw);
          dying.hangUp();
        }, () => {});
      },
    });
    add("answer");
    expect(await deliver()).toEqual({ sent: 0, failed: 1, gaveUp: 0 });
    await dying.close();
    const { got } = await serve();
    expect(await deliver(NOW + 15_000)).toEqual({ sent: 1, failed: 0, gaveUp: 0 });
    const ids = [...taken, ...got.map(({ raw }) => raw)].map((raw) => parsed(raw).headers.find(([name]) => name === "message-id")?.[1]);
    expect(ids).toHaveLength(2);
    expect(new Set(ids).size).toBe(1);
  });
});

describe("what a stranger reads in the mailbox", () => {
  it("of every kind of mail is no name, no word of health, and for all news the same", async () => {
    database().update(children).set({ givenName: "Zebedee" }).run();
    database().update(families).set({ name: "Quillfeather" }).run();
    for (const [id, name] of [["mother", "Wilhelmina Quillfeather"], ["therapist", "Barnaby Underhill"]] as const) database().update(people).set({ name }).where(eq(people.id, id)).run();
    addSet("set-1");
    addSet("set-2", { sentAt: NOW - MINUTE });
    const ok = (result: { readonly ok: boolean }) => expect(result).toMatchObject({ ok: true });
    ok(await send(world.therapist, "set-1", { summary: "Lie on the left side, Zebedee; the low back bag is too high." }));
    ok(await send(world.therapist, "set-2", { verdicts: verdictsOf("in-place", { "prop-low-back": "fix" }) }));
    ok(await reportSymptoms(await grant(world.mother, "symptom.report", "child-1"), { noticed: ["leg-weak-or-numb"], note: "Numb left leg", photoSetId: null }, NOW));
    ok(await placeStop(await grant(world.therapist, "stop.place", "child-1"), { exerciseKey: null, reason: "Rest first, Zebedee.", sideReason: "", wordsConfirmed: false }, NOW));
    for (const kind of Object.keys(NOTICE_KINDS) as NoticeKind[]) add(kind, `also-${kind}`, "stranger"); // the table's own keys
    process.env["PUBLIC_URL"] = "https://photos.example.org";
    const { got } = await serve();
    const kinds = database().select({ id: notices.id, kind: notices.kind }).from(notices).all();
    for (const { id } of kinds) {
      // One at a time, so that every kind leaves as a mail of its own.
      database().update(notices).set({ nextTryAt: Number.MAX_SAFE_INTEGER }).run();
      database().update(notices).set({ nextTryAt: NOW }).where(eq(notices.id, id)).run();
      expect(await deliver()).toEqual({ sent: 1, failed: 0, gaveUp: 0 });
    }
    expect(got).toHaveLength(kinds.length);
    expect(new Set(kinds.map(({ kind }) => kind))).toEqual(new Set(Object.keys(NOTICE_KINDS)));
    const exercise = say("exercise");
    const words = ["Zebedee", "Quillfeather", "Wilhelmina", "Barnaby", "Underhill", exercise("title.side-lying"), "scoliosis", "spine", "curve", "exercise", "photo", "stop", "symptom", "pain", "numb", "urgent", "alarm", "left", "right", "verdict", "child"];
    const shapes = new Set<string>();
    for (const [at, { raw }] of got.entries()) {
      const { headers, text } = parsed(raw);
      // The host is the practice's own name for its server, here with a word of the list in it.
      const shown = `${headers.map((header) => header.join(": ")).join("\n")}\n${text}`.replaceAll("photos.example.org", "");
      for (const word of words) expect(shown.toLowerCase(), word).not.toContain(word.toLowerCase());
      expect(raw).not.toMatch(/<img|<a |<html/i);
      if (hasOwnWords(kinds[at]?.kind ?? "")) continue;
      shapes.add(shown.replace(/key=[\w-]+/g, "KEY").replace(/\w+@people\.example/g, "TO").replace(/<[0-9a-f-]{36}@>/g, "ID"));
    }
    expect(shapes.size).toBe(1);
  });
});
