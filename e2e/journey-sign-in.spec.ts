import { expect, test } from "@playwright/test";
import { TOTP, Secret } from "otpauth";
import { askForCode, invitedTherapist, newestMail } from "@/e2e/journey/mail";
import { expectSound, LAPTOP, personAt, PHONE, someone } from "@/e2e/journey/person";

test("a parent signs in with the code that was mailed; a wrong one is refused", async ({ browser }) => {
  const parent = await someone(browser, PHONE);
  const { page } = parent;
  await askForCode(page, "inti@families.example");
  await expectSound(parent);
  const mail = await newestMail(page, "inti@families.example", /code: \d{8}/);
  const code = /\b(\d{4}\s?\d{4})\b/.exec(mail)?.[1] ?? "";
  await page.goto("/sign-in/code");
  await page.getByLabel("8-digit code").fill(code.replace(/\d$/, (last) => String((Number(last) + 1) % 10)));
  await page.getByRole("button", { name: "Sign in", exact: true }).click();
  // The sentence itself: the framework keeps an alert of its own on every page.
  await expect(page.getByText("This code is not right.")).toBeVisible();
  await page.getByLabel("8-digit code").fill(code);
  await page.getByRole("button", { name: "Sign in", exact: true }).click();
  await expect(page).toHaveURL(/\/family$/);
  await expectSound(parent);
  await parent.context.close();
});

test("a parent signs in by the mailed link: opening it uses nothing up, and elsewhere it signs nobody in", async ({ browser }) => {
  const parent = await someone(browser, PHONE);
  const { page } = parent;
  await askForCode(page, "bea@families.example");
  const mail = await newestMail(page, "bea@families.example", /\/sign-in\/link\?key=/);
  const link = /(http:\/\/\S+\/sign-in\/link\?key=\S+)/.exec(mail)?.[1] ?? "";
  for (let look = 0; look < 3; look += 1) expect((await page.request.get(link)).status()).toBe(200);
  const elsewhere = await someone(browser, PHONE);
  await elsewhere.page.goto(link);
  await expect(elsewhere.page.getByRole("button", { name: "Sign me in" })).toHaveCount(0);
  await elsewhere.context.close();
  await page.goto(link);
  await expectSound(parent);
  await page.getByRole("button", { name: "Sign me in" }).click();
  await expect(page).toHaveURL(/\/family$/);
  // Spent: the same link does nothing more.
  await page.context().clearCookies();
  await askForCode(page, "bea@families.example");
  await page.goto(link);
  await page.getByRole("button", { name: "Sign me in" }).click();
  await expect(page.getByRole("alert").first()).toBeVisible();
  await expect(page).not.toHaveURL(/\/family$/);
  await parent.context.close();
});

test("an invited therapist sets up an authenticator app, and signs in with mail and app", async ({ browser }) => {
  const lead = await personAt(browser, "Ines Calloway", LAPTOP);
  const address = await invitedTherapist(lead.page, "Odile Hartnell", "odile@alderbrook.example");
  const therapist = await someone(browser, LAPTOP);
  const { page } = therapist;
  await page.goto(address);
  await expectSound(therapist);
  await page.getByRole("button", { name: "Join" }).click();
  await expect(page).toHaveURL(/second-step/);
  await expectSound(therapist);
  const secret = (await page.locator("code").first().innerText()).replaceAll(/\s/g, "");
  // RFC 6238 by a library of its own.
  const app = new TOTP({ secret: Secret.fromBase32(secret) });
  await page.getByLabel("6-digit code").fill(app.generate());
  await page.getByRole("button", { name: "Go on" }).click();
  await expect(page).toHaveURL(/\/desk/);
  // The invitation is spent.
  const other = await someone(browser, LAPTOP);
  await other.page.goto(address);
  await expect(other.page.getByRole("button", { name: "Join" })).toHaveCount(0);
  await Promise.all([lead, therapist, other].map(({ context }) => context.close()));
});

test("an invited therapist makes a passkey and signs in with it alone", async ({ browser }) => {
  const lead = await personAt(browser, "Ines Calloway", LAPTOP);
  const address = await invitedTherapist(lead.page, "Bram Lockyer", "bram@alderbrook.example");
  const therapist = await someone(browser, LAPTOP);
  const { page } = therapist;
  const devtools = await page.context().newCDPSession(page);
  await devtools.send("WebAuthn.enable");
  await devtools.send("WebAuthn.addVirtualAuthenticator", {
    options: { protocol: "ctap2", transport: "internal", hasResidentKey: true, hasUserVerification: true, isUserVerified: true, automaticPresenceSimulation: true },
  });
  await page.goto(address);
  await page.getByRole("button", { name: "Join" }).click();
  await page.getByRole("button", { name: "Make a passkey" }).click();
  await expect(page).toHaveURL(/\/desk/);
  await page.context().clearCookies();
  await page.goto("/sign-in");
  await page.getByRole("button", { name: "Sign in with a passkey" }).click();
  await expect(page).toHaveURL(/\/desk/);
  await Promise.all([lead, therapist].map(({ context }) => context.close()));
});
