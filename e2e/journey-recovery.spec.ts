import { Secret, TOTP } from "otpauth";
import { expect, test } from "@playwright/test";
import { askForCode, invitedTherapist, newestMail } from "@/e2e/journey/mail";
import { expectSound, LAPTOP, personAt, someone } from "@/e2e/journey/person";

test("a therapist without their phone signs in with a recovery code and ends the lost sign-in; the lead resets the step", async ({ browser }) => {
  const [name, email] = ["Maren Thistlewood", "maren@alderbrook.example"] as const;
  const lead = await personAt(browser, "Ines Calloway", LAPTOP);
  const address = await invitedTherapist(lead.page, name, email);
  const lost = await someone(browser, LAPTOP);
  await lost.page.goto(address);
  await lost.page.getByRole("button", { name: "Join" }).click();
  const secret = (await lost.page.locator("code").first().innerText()).replaceAll(/\s/g, "");
  await lost.page.getByLabel("6-digit code").fill(new TOTP({ secret: Secret.fromBase32(secret) }).generate());
  await lost.page.getByRole("button", { name: "Go on" }).click();
  await expect(lost.page.getByRole("heading", { name: "Your recovery codes" })).toBeVisible();
  await expectSound(lost);
  const codes = await lost.page.getByRole("listitem").locator("code").allInnerTexts();
  expect(codes).toHaveLength(10);
  await lost.page.getByRole("button", { name: "I have them: show them no more" }).click();
  await expect(lost.page).toHaveURL(/\/desk\/account$/);
  await lost.page.goto("/desk/account/codes");
  await expect(lost.page.getByText(codes[0] ?? "")).toHaveCount(0);

  const at = await someone(browser, LAPTOP);
  const { page } = at;
  const tryCode = async (code: string): Promise<void> => {
    const form = page.getByRole("form", { name: "Recovery code" });
    await form.getByRole("textbox").fill(code);
    await form.getByRole("button", { name: "Go on" }).click();
  };
  await askForCode(page, email);
  const mail = await newestMail(page, email, /code: \d{8}/);
  await page.goto("/sign-in/code");
  await page.getByLabel("8-digit code").fill(/\b(\d{8})\b/.exec(mail)?.[1] ?? "");
  await page.getByRole("button", { name: "Sign in", exact: true }).click();
  await expect(page).toHaveURL(/second-step/);
  await page.getByText("I have neither of these with me").click();
  await tryCode(`${(codes[0] ?? "").slice(0, -1)}${codes[0]?.endsWith("0") ? "1" : "0"}`);
  await expect(page.getByText("This is no recovery code that still works.")).toBeVisible();
  await tryCode(codes[0] ?? "");
  await expect(page).toHaveURL(/\/desk$/);
  expect(await newestMail(page, email, /recovery codes for Trueside was used/)).not.toContain(codes[0]);

  await page.goto("/desk/account");
  await expect(page.getByText("9 left")).toBeVisible();
  await expectSound(at);
  const list = page.getByRole("list", { name: "Where you are signed in" });
  await expect(list.getByRole("listitem")).toHaveCount(2);
  await page.getByRole("button", { name: "Sign out everywhere else" }).click();
  await expect(list.getByRole("listitem")).toHaveCount(1);
  await lost.page.goto("/desk");
  await expect(lost.page).toHaveURL(/\/sign-in/);

  await lead.page.goto("/desk/practice");
  await lead.page.getByText(`Lost device of ${name}`).click();
  await lead.page.getByRole("button", { name: `Reset the second step of ${name}` }).click();
  await expect(lead.page.getByRole("listitem").filter({ hasText: email })).toContainText("No second step yet");
  await page.goto("/desk");
  await expect(page).toHaveURL(/\/sign-in/);
  await Promise.all([lead, lost, at].map(({ context }) => context.close()));
});
