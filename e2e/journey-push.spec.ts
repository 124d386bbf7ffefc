import { createECDH, randomBytes } from "node:crypto";
import { expect, test, type Page } from "@playwright/test";
import { expectSound, LAPTOP, personAt, PHONE, signIn, someone } from "@/e2e/journey/person";

const SENTENCE = "Something new is waiting for you in Trueside";

/**
 * A browser here reaches no push service, so its own part is played: what it would be given, and how often
 * the person was asked. Nothing is sent there: nobody writes to these people meanwhile.
 */
async function withPushService(page: Page): Promise<void> {
  const pair = createECDH("prime256v1");
  pair.generateKeys();
  const json = { endpoint: `https://fcm.googleapis.com/fcm/send/${randomBytes(12).toString("hex")}`, keys: { p256dh: pair.getPublicKey("base64url"), auth: randomBytes(16).toString("base64url") } };
  await page.addInitScript((made) => {
    const store = (on: boolean) => (on ? localStorage.setItem("stub-push", "1") : localStorage.removeItem("stub-push"));
    const subscription = { endpoint: made.endpoint, toJSON: () => made, unsubscribe: async () => (store(false), true) } as unknown as PushSubscription; // what our page uses of one
    PushManager.prototype.getSubscription = async () => (localStorage.getItem("stub-push") ? subscription : null);
    PushManager.prototype.subscribe = async (options) => {
      if (!options?.userVisibleOnly || (options.applicationServerKey as Uint8Array).length !== 65) throw new Error("not as a browser wants it");
      store(true);
      return subscription;
    };
    // A browser without windows has nobody to ask and never allows: the press answers for the person.
    let permission: NotificationPermission = "default";
    Object.defineProperty(Notification, "permission", { get: () => (localStorage.getItem("stub-push") ? "granted" : permission) });
    Notification.requestPermission = async () => {
      document.documentElement.dataset["asked"] = "yes";
      permission = "granted";
      return permission;
    };
  }, json);
}

test("a parent is told on the phone by one press, sees where, and ends it by one press or by signing out", async ({ browser }) => {
  const parent = await someone(browser, PHONE);
  const { page, context } = parent;
  await withPushService(page);
  await signIn(parent, "Maeve Sorrel");
  await page.goto("/family/account/mail");
  const turnOn = page.getByRole("button", { name: "Tell me here" });
  await expect(turnOn).toBeVisible();
  expect(await page.evaluate(() => document.documentElement.dataset["asked"])).toBeUndefined();
  await expectSound(parent);

  await turnOn.click();
  await expect(page.getByText("You are told here. Signing out on this phone or computer ends it.")).toBeVisible();
  const list = page.getByRole("list", { name: "Where you are told" });
  await expect(list.getByRole("listitem")).toHaveCount(1);
  await expect(list.getByText("This one")).toBeVisible();
  await expect(page.getByRole("heading", { name: "On your phones and computers" })).toBeVisible();
  await expectSound(parent);
  // The same person elsewhere sees it and can end it there.
  const elsewhere = await personAt(browser, "Maeve Sorrel", LAPTOP);
  await elsewhere.page.goto("/family/account/mail");
  await expect(elsewhere.page.getByText("This one")).toHaveCount(0);
  await elsewhere.page.getByRole("list", { name: "Where you are told" }).getByRole("button", { name: "Turn off" }).click();
  await expect(elsewhere.page.getByRole("list", { name: "Where you are told" })).toHaveCount(0);
  await page.reload();
  await expect(list).toHaveCount(0);

  await turnOn.click();
  await page.getByRole("button", { name: "Stop telling me here" }).click();
  await expect(turnOn).toBeVisible();
  await expect(list).toHaveCount(0);

  await turnOn.click();
  await expect(list.getByRole("listitem")).toHaveCount(1);
  await page.goto("/family/account");
  await page.getByRole("button", { name: "Sign out", exact: true }).click();
  await page.waitForURL(/\/sign-in/);
  await elsewhere.page.goto("/family/account/mail");
  await expect(elsewhere.page.getByRole("heading", { name: "How we reach you" })).toBeVisible();
  await expect(elsewhere.page.getByRole("list", { name: "Where you are told" })).toHaveCount(0);
  await elsewhere.context.close();
  await context.close();
});

test("whoever blocks us is told how to allow it, and without scripts nothing is offered", async ({ browser }) => {
  const blocked = await someone(browser, LAPTOP);
  await blocked.page.addInitScript(() => Object.defineProperty(Notification, "permission", { get: () => "denied" }));
  await signIn(blocked, "Tom Ferrant");
  await blocked.page.goto("/desk/mail");
  await expect(blocked.page.getByText(/^Your browser blocks messages from us\./)).toBeVisible();
  await expect(blocked.page.getByRole("button", { name: "Tell me here" })).toHaveCount(0);
  await expectSound(blocked);
  await blocked.context.close();

  const still = await someone(browser, PHONE, { javaScriptEnabled: false });
  await signIn(still, "Maeve Sorrel");
  await still.page.goto("/family/account/mail");
  await expect(still.page.getByRole("heading", { name: "How we reach you" })).toBeVisible();
  await expect(still.page.getByText(/Tell me on this phone/)).toHaveCount(0);
  await still.context.close();
});

/** What the worker was told to show; kept by a stand-in, since a browser without windows shows nothing. */
type Shown = { shown?: unknown[] };

test("the phone shows one sentence for every push, whatever came, under one tag", async ({ browser }) => {
  const { page, context } = await personAt(browser, "Maeve Sorrel", PHONE);
  await page.waitForFunction(() => navigator.serviceWorker.controller !== null);
  const devtools = await context.newCDPSession(page);
  const registered = new Promise<string>((resolve) => {
    devtools.on("ServiceWorker.workerRegistrationUpdated", ({ registrations }) => {
      const [first] = registrations;
      if (first) resolve(first.registrationId);
    });
  });
  const errors: string[] = [];
  devtools.on("ServiceWorker.workerErrorReported", ({ errorMessage }) => errors.push(errorMessage.errorMessage));
  await devtools.send("ServiceWorker.enable");
  const registrationId = await registered;
  const worker = context.serviceWorkers()[0] ?? await context.waitForEvent("serviceworker");
  await worker.evaluate(() => {
    const kept: unknown[] = [];
    (self as Shown).shown = kept;
    const { registration } = self as unknown as { registration: ServiceWorkerRegistration };
    registration.showNotification = async (title, { body, tag, lang, data } = {}) => void kept.push({ title, body, tag, lang, data: data as unknown });
  });
  const newest = () => worker.evaluate(() => (self as Shown).shown?.splice(0));
  const push = (data: string) => devtools.send("ServiceWorker.deliverPushMessage", { origin: new URL(page.url()).origin, registrationId, data });

  await push(JSON.stringify({ says: "Le espera algo nuevo en Trueside", lang: "es", to: "/family" }));
  await expect.poll(newest).toEqual([{ title: "Trueside", body: "Le espera algo nuevo en Trueside", tag: "trueside", lang: "es", data: "/family" }]);
  // Whatever cannot be read is shown as the sentence alone.
  for (const unread of ["", "Lena: stop", JSON.stringify({ says: "Lena: stop", lang: "en", to: "https://evil.example" })]) {
    await push(unread);
    await expect.poll(newest).toEqual([{ title: "Trueside", body: SENTENCE, tag: "trueside", lang: "en", data: "/family" }]);
  }
  expect(errors).toEqual([]);
  await context.close();
});
