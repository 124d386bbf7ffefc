import { describe, expect, test } from "vitest";
import type { IncomingMessage } from "node:http";
import { hashSources } from "@/lib/cli/build-stamp.mjs";
import { Gate } from "@/lib/cli/gate.mjs";
import { screen } from "@/lib/cli/screen.mjs";
import { addUp, countPlaywright, countVitest, lastLine } from "@/lib/cli/test-count.mjs";
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";

describe("the gate", () => {
  const size = { atOnce: 2, waiting: 1, patienceMs: 30 };

  test("lets so many in, keeps so many waiting, and turns the next away at once", async () => {
    const gate = new Gate(size);
    const [first, second] = [await gate.enter(), await gate.enter()];
    const waiting = gate.enter();
    expect(await gate.enter()).toBeNull();
    first?.();
    const third = await waiting;
    expect(third).toBeTypeOf("function");
    second?.();
    third?.();
  });

  test("one who waited too long is turned away and takes no place later", async () => {
    const gate = new Gate(size);
    const inside = [await gate.enter(), await gate.enter()];
    expect(await gate.enter()).toBeNull();
    for (const leave of inside) leave?.();
    expect(await gate.enter()).not.toBeNull();
    expect(await gate.enter()).not.toBeNull();
  });

  test("leaving twice frees one place", async () => {
    const gate = new Gate({ ...size, waiting: 0 });
    const first = await gate.enter();
    await gate.enter();
    first?.();
    first?.();
    expect(await gate.enter()).not.toBeNull();
    expect(await gate.enter()).toBeNull();
  });
});

describe("a gate that is full", () => {
  test("takes the place of whoever gives way, once, and of nobody else", async () => {
    const gate = new Gate({ atOnce: 2, waiting: 0, patienceMs: 0 });
    const asked: string[] = [];
    const inside = (name: string, givesWay: boolean) => gate.enter(() => {
      asked.push(name);
      return givesWay;
    });
    const quick = await inside("quick", false);
    const slow = await inside("slow", true);
    expect(asked).toEqual([]);
    const third = await inside("third", false);
    expect([typeof third, asked]).toEqual(["function", ["quick", "slow"]]);
    // Whoever gave way has left already: its leaving frees no second place.
    slow?.();
    expect(await inside("fourth", false)).toBeNull();
    quick?.();
    expect(await inside("fifth", false)).not.toBeNull();
  });
});

describe("the screen before Next", () => {
  const request = (url: string, headers: Record<string, string> = {}, method = "GET", remoteAddress = "127.0.0.1") =>
    ({ url, method, headers: { host: "practice.example", ...headers }, socket: { remoteAddress } }) as unknown as IncomingMessage; // only what the screen reads
  const publicUrl = new URL("https://practice.example");

  test("removes every header that could pass for an internal one, and says the public address", () => {
    const sent = request("/desk", {
      "x-forwarded-host": "evil.example", "x-forwarded-proto": "http", forwarded: "host=evil.example", "x-middleware-subrequest": "proxy",
      "x-nextjs-data": "1", "x-nonce": "n", "x-client-network": "198.51.100.1", "x-forwarded-for": "198.51.100.2", "x-real-ip": "198.51.100.3", "content-security-policy": "script-src *", cookie: "a=b", "next-action": "kept",
    });
    expect(screen(sent, publicUrl, false)).toBeNull();
    expect(sent.headers).toEqual({ host: "practice.example", "x-forwarded-proto": "https", "x-client-network": "127.0.0.1", cookie: "a=b", "next-action": "kept" });
  });

  test("a reverse proxy on this machine may come by its own name; another name is refused", () => {
    const sent = request("/desk", { host: "127.0.0.1:3000" });
    expect(screen(sent, publicUrl, false)).toBeNull();
    expect(sent.headers.host).toBe("practice.example");
    expect(screen(request("/desk", { host: "evil.example" }), publicUrl, false)?.status).toBe(421);
    expect(screen(request("/api/health", { host: "10.0.0.7:3000" }), publicUrl, false)).toBeNull();
  });

  test("a form of another page is refused before Next, which would call it a fault", () => {
    const status = (origin: string | null, path = "/family") => screen(request(path, origin === null ? {} : { origin }, "POST"), publicUrl, false)?.status ?? "passes";
    expect(["https://evil.example", "null", "http://practice.example"].map((from) => status(from))).toEqual([403, 403, 403]);
    expect([status(publicUrl.origin), status(null), status("null", "/family/send/shared")]).toEqual(["passes", "passes", "passes"]);
  });

  // IPv4-mapped addresses: RFC 4291, 2.5.5.2. Addresses for documentation: RFC 5737 and RFC 3849.
  test.each([
    ["198.51.100.7", "198.51.100.7"], ["::ffff:198.51.100.7", "198.51.100.7"], ["::FFFF:C633:6407", "198.51.100.7"], ["::1", "0:0:0:0::/64"],
    ["2001:db8:1:2:3:4:5:6", "2001:db8:1:2::/64"], ["2001:db8:1:2::9", "2001:db8:1:2::/64"], ["2001:0DB8:0001:0002:ffff::", "2001:db8:1:2::/64"],
    ["2001:db8::", "2001:db8:0:0::/64"], ["fe80::1%eth0", "fe80:0:0:0::/64"], ["", ""],
  ])("who asks from %s is counted as %s", (address, network) => {
    const sent = request("/sign-in", {}, "GET", address);
    screen(sent, publicUrl, false);
    expect(sent.headers["x-client-network"]).toBe(network);
  });

  test("only the last hop of a trusted proxy counts, and a word of the client's own never does", () => {
    const seen = (trustsProxy: boolean, headers: Record<string, string>) => {
      const sent = request("/sign-in", headers, "GET", "127.0.0.1");
      screen(sent, publicUrl, trustsProxy);
      return sent.headers["x-client-network"];
    };
    const claimed = { "x-forwarded-for": "203.0.113.5, 198.51.100.7", "x-real-ip": "203.0.113.5", "x-client-network": "203.0.113.5" };
    expect(seen(false, claimed)).toBe("127.0.0.1");
    expect(seen(true, claimed)).toBe("198.51.100.7");
    expect(seen(true, { "x-forwarded-for": "203.0.113.5,2001:db8::1" })).toBe("2001:db8:0:0::/64");
    for (const nonsense of ["", "unknown", "198.51.100.7, ", "198.51.100.7, evil"]) expect(seen(true, { "x-forwarded-for": nonsense })).toBe("127.0.0.1");
  });

  test("a photo may be 25 MB with its envelope, a form 1 MB with its own", () => {
    const MB = 1024 * 1024;
    const status = (path: string, bytes: number) => screen(request(path, { "content-length": String(bytes) }, "POST"), publicUrl, false)?.status ?? "passes";
    expect(status("/api/photos/x", 25 * MB)).toBe("passes");
    expect(status("/api/photos/x", 27 * MB + 1)).toBe(413);
    expect(status("/sign-in", MB)).toBe("passes");
    expect(status("/sign-in", 2 * MB)).toBe(413);
  });
});

describe("the count of npm test", () => {
  const vitest = (parts: object) => ({ numPassedTests: 5, numFailedTests: 0, numPendingTests: 0, numTodoTests: 0, testResults: [], ...parts });

  test("ends with one line; skipped ones are said only when there are any", () => {
    expect(lastLine({ passed: 7, failed: 0, skipped: 0 })).toBe("7 passed, 0 failed");
    expect(lastLine({ passed: 7, failed: 2, skipped: 1 })).toBe("7 passed, 2 failed, 1 skipped");
    expect(addUp([{ passed: 1, failed: 0, skipped: 2 }, { passed: 3, failed: 4, skipped: 0 }])).toEqual({ passed: 4, failed: 4, skipped: 2 });
  });

  test("nothing that went wrong counts as nothing", () => {
    expect(countVitest(null, 1)).toEqual({ passed: 0, failed: 1, skipped: 0 });
    expect(countVitest(vitest({ testResults: [{ status: "failed", assertionResults: [] }] }), 1).failed).toBe(1);
    expect(countVitest(vitest({}), 1).failed).toBe(1);
    expect(countVitest(vitest({ numPendingTests: 1, numTodoTests: 2 }), 0)).toEqual({ passed: 5, failed: 0, skipped: 3 });
    expect(countPlaywright({ stats: { expected: 3, unexpected: 0, flaky: 1, skipped: 0 }, errors: [] }, 0).failed).toBe(1);
    expect(countPlaywright({ stats: { expected: 0, unexpected: 0, flaky: 0, skipped: 0 }, errors: [{}] }, 1).failed).toBe(1);
    expect(countPlaywright(null, 0).failed).toBe(1);
  });
});

test("a build is stale when any source changes, and only then", () => {
  const root = mkdtempSync(join(tmpdir(), "trueside-sources-"));
  mkdirSync(join(root, "app", "deep"), { recursive: true });
  writeFileSync(join(root, "app", "deep", "page.tsx"), "one");
  const before = hashSources(root);
  expect(hashSources(root)).toBe(before);
  writeFileSync(join(root, "README.md"), "words");
  expect(hashSources(root)).toBe(before);
  writeFileSync(join(root, "app", "deep", "page.tsx"), "two");
  expect(hashSources(root)).not.toBe(before);
  writeFileSync(join(root, "app", "deep", "page.tsx"), "one");
  writeFileSync(join(root, "proxy.ts"), "");
  expect(hashSources(root)).not.toBe(before);
  rmSync(root, { recursive: true });
});
