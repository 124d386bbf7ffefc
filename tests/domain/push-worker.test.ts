import { beforeAll, beforeEach, describe, expect, it, vi } from "vitest";

type Handler = (event: object) => void;
type Window = { url: string; focus: () => Promise<void>; navigate: (to: string) => Promise<void> };
const fake = vi.hoisted(() => ({
  handlers: new Map<string, Handler>(), done: [] as string[], windows: [] as Window[], shown: [] as { title: string; options: NotificationOptions }[], language: "en-GB",
}));
vi.mock("@/app/worker/scope", () => ({
  worker: {
    addEventListener: (name: string, handler: Handler) => fake.handlers.set(name, handler),
    navigator: { get language() { return fake.language; } },
    registration: { showNotification: async (title: string, options: NotificationOptions) => { fake.shown.push({ title, options }); }, pushManager: { subscribe: async () => ({ toJSON: () => ({ endpoint: "new" }) }) } },
    clients: { matchAll: async () => fake.windows, openWindow: async (to: string) => { fake.done.push(`opened ${to}`); } },
  },
}));

beforeAll(async () => {
  await import("@/app/worker/pushing");
});
beforeEach(() => {
  Object.assign(fake, { done: [], windows: [], shown: [], language: "en-GB" });
});

/** Lets the worker handle an event, until it says that it is done. */
async function happen(name: string, event: object): Promise<void> {
  const waits: Promise<unknown>[] = [];
  fake.handlers.get(name)?.({ ...event, waitUntil: (wait: Promise<unknown>) => waits.push(wait) });
  expect(waits).toHaveLength(1);
  await Promise.all(waits);
}
const windowAt = (path: string): Window => ({
  url: `https://practice.example${path}`,
  focus: async () => { fake.done.push(`focused ${path}`); },
  navigate: async (to) => { fake.done.push(`asked for ${to}`); },
});
const press = (data: unknown) => happen("notificationclick", { notification: { data, close: () => fake.done.push("closed") } });

describe("a push on the phone", () => {
  it("is shown as it says, sounds again, and takes the place of the one before", async () => {
    await happen("push", { data: { text: () => JSON.stringify({ says: "Something", lang: "en", to: "/desk" }) } });
    expect(fake.shown).toEqual([{ title: "Trueside", options: expect.objectContaining({ body: "Something", tag: "trueside", renotify: true, data: "/desk" }) }]);
  });

  it.each([["no data", null], ["no JSON", "Lena: stop"], ["another page", JSON.stringify({ says: "x", lang: "en", to: "https://evil.example" })]])("with %s is the sentence alone, in the phone's language", async (_what, text) => {
    const data = text === null ? null : { text: () => text };
    await happen("push", { data });
    fake.language = "es-MX";
    await happen("push", { data });
    expect(fake.shown.map(({ options }) => options.body)).toEqual(["Something new is waiting for you in Trueside", "Le espera algo nuevo en Trueside"]);
  });
});

describe("pressing it", () => {
  it("brings the first page to the front and asks for it anew, where it is open", async () => {
    fake.windows = [windowAt("/family/send"), windowAt("/family")];
    await press("/family");
    expect(fake.done).toEqual(["closed", "focused /family", "asked for /family"]);
  });

  it("brings another page of that side to the front as it is, since something may be typed there", async () => {
    fake.windows = [windowAt("/sign-in"), windowAt("/family/send")];
    await press("/family");
    expect(fake.done).toEqual(["closed", "focused /family/send"]);
  });

  it("opens its side where nothing of it is open, and the family's for what it does not know", async () => {
    fake.windows = [windowAt("/family")];
    await press("/desk");
    fake.windows = [];
    await press("https://evil.example");
    expect(fake.done).toEqual(["closed", "opened /desk", "closed", "opened /family"]);
  });
});

describe("an address that the browser renews", () => {
  it("is told to the server as a renewal, and nothing is when there is none", async () => {
    const asked: unknown[] = [];
    vi.stubGlobal("fetch", async (path: string, { body = "" }: { readonly body?: string }) => { asked.push([path, JSON.parse(body)]); });
    await happen("pushsubscriptionchange", {});
    await happen("pushsubscriptionchange", { oldSubscription: { options: {} } });
    await happen("pushsubscriptionchange", { newSubscription: { toJSON: () => ({ endpoint: "given" }) } });
    vi.unstubAllGlobals();
    expect(asked).toEqual([["/api/push", { endpoint: "new", isRenewal: true }], ["/api/push", { endpoint: "given", isRenewal: true }]]);
  });
});
