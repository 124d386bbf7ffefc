import { createECDH } from "node:crypto";
import { afterEach, describe, expect, it, vi } from "vitest";
import { standingHere, turnOff, turnOn } from "@/app/mail/push-here";

afterEach(() => {
  vi.unstubAllGlobals();
});

const pair = createECDH("prime256v1");
pair.generateKeys();
const KEY = pair.getPublicKey("base64url");
const IPHONE = "Mozilla/5.0 (iPhone; CPU iPhone OS 17_5 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko) Version/17.5 Mobile/15E148 Safari/604.1";

/** A browser as far as these functions see one. */
function browser(given: {
  readonly permission?: NotificationPermission; readonly answers?: NotificationPermission; readonly userAgent?: string; readonly isInstalled?: boolean;
  readonly canPush?: boolean; readonly refuses?: boolean; readonly status?: number; readonly problem?: string;
} = {}) {
  const { permission = "granted", answers = permission, userAgent = "", isInstalled = false, canPush = true, refuses = false, status = 200, problem = "" } = given;
  const seen = { asked: 0, made: 0, ended: 0, sent: [] as string[], keys: [] as number[] };
  let current: { unsubscribe: () => Promise<boolean> } | null = null;
  const make = () => ({
    toJSON: () => ({ endpoint: "https://fcm.googleapis.com/x" }),
    unsubscribe: async () => {
      seen.ended += 1;
      current = null;
      return true;
    },
  });
  const pushManager = {
    getSubscription: async () => current,
    subscribe: async ({ applicationServerKey }: { readonly applicationServerKey: Uint8Array }) => {
      if (refuses) throw new Error("no push service");
      seen.made += 1;
      seen.keys.push(applicationServerKey.length);
      return (current = make());
    },
  };
  const registration = { pushManager };
  vi.stubGlobal("navigator", { userAgent, maxTouchPoints: 0, ...(canPush ? { serviceWorker: { getRegistration: async () => registration, register: async () => registration, ready: Promise.resolve(registration) } } : {}) });
  const notification = { permission, requestPermission: async () => {
    seen.asked += 1;
    return answers;
  } };
  vi.stubGlobal("Notification", notification);
  vi.stubGlobal("window", { matchMedia: () => ({ matches: isInstalled }), ...(canPush ? { PushManager: {}, Notification: notification } : {}) });
  vi.stubGlobal("fetch", async (_path: string, { method, headers }: { readonly method: string; readonly headers: Readonly<Record<string, string>> }) => {
    seen.sent.push(`${method} for ${headers["X-Person"]}`);
    return Response.json(problem ? { problem: { code: problem } } : {}, { status });
  });
  return { ...seen, seen, subscribeBefore: () => { current = make(); } };
}

describe("how it stands in this browser", () => {
  it("is told apart, and asking for it asks nobody", async () => {
    const { seen } = browser({ permission: "default" });
    expect(await standingHere(false)).toBe("off");
    expect(seen.asked).toBe(0);
    browser({ permission: "denied" });
    expect(await standingHere(true)).toBe("blocked");
    browser({ canPush: false });
    expect(await standingHere(false)).toBe("unsupported");
    browser({ canPush: false, userAgent: IPHONE });
    expect(await standingHere(false)).toBe("install");
    // On the home screen already: an older phone that never can.
    browser({ canPush: false, userAgent: IPHONE, isInstalled: true });
    expect(await standingHere(false)).toBe("unsupported");
  });

  it("is on only where both the server and the browser know of it", async () => {
    const both = browser();
    expect(await standingHere(true)).toBe("off");
    both.subscribeBefore();
    expect([await standingHere(true), await standingHere(false)]).toEqual(["on", "off"]);
  });
});

describe("turning it on and off", () => {
  it("asks, makes a new one in place of any before, and tells the server for whom", async () => {
    const { seen, subscribeBefore } = browser({ permission: "default", answers: "granted" });
    subscribeBefore();
    expect(await turnOn("mother", KEY)).toBe("on");
    expect(seen).toMatchObject({ asked: 1, made: 1, ended: 1, sent: ["POST for mother"], keys: [65] });
    expect(await turnOff("mother")).toBe("off");
    expect(seen).toMatchObject({ ended: 2, sent: ["POST for mother", "DELETE for mother"] });
  });

  it("leaves nothing behind when it is refused by the person, the browser or the server", async () => {
    const denied = browser({ permission: "default", answers: "denied" });
    expect([await turnOn("mother", KEY), denied.seen.made]).toEqual(["blocked", 0]);
    const dismissed = browser({ permission: "default" });
    expect([await turnOn("mother", KEY), dismissed.seen.made]).toEqual(["off", 0]);
    browser({ refuses: true });
    expect(await turnOn("mother", KEY)).toBe("failed");
    for (const [problem, outcome] of [["push-too-many", "push-too-many"], ["push-unknown", "push-unknown"], ["form-invalid", "failed"]]) {
      const { seen } = browser({ status: 422, problem: problem ?? "" });
      expect(await turnOn("mother", KEY)).toBe(outcome);
      expect([seen.made, seen.ended]).toEqual([1, 1]);
    }
  });

  it("is off when either side is, and failed when neither could be reached", async () => {
    const { subscribeBefore } = browser({ status: 500 });
    expect(await turnOff("mother")).toBe("failed");
    subscribeBefore();
    expect(await turnOff("mother")).toBe("off");
  });
});
