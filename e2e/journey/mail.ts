import { expect, type Page } from "@playwright/test";

/** The newest mail to an address on the demo's own mail page, as one text. */
export async function newestMail(page: Page, to: string, holding: RegExp): Promise<string> {
  const mail = page.getByRole("listitem").filter({ hasText: `To ${to}` }).filter({ hasText: holding }).first();
  await expect(async () => {
    await page.goto("/demo-mail");
    await expect(mail).toBeVisible({ timeout: 1000 });
  }).toPass({ timeout: 60_000 });
  return mail.innerText();
}

/** Types an address on the sign-in page, up to where the code is asked for. */
export async function askForCode(page: Page, email: string): Promise<void> {
  await page.goto("/sign-in");
  await page.getByLabel("Email address").fill(email);
  await page.getByRole("button", { name: "Send me a code" }).click();
  await expect(page).toHaveURL(/\/sign-in\/code/);
}

/** A therapist invited by the lead; gives the address of their invitation. */
export async function invitedTherapist(page: Page, name: string, email: string): Promise<string> {
  await page.goto("/desk/practice");
  const form = page.getByRole("form", { name: "Invite a therapist" });
  await form.getByLabel("Name").fill(name);
  await form.getByLabel("Email address").fill(email);
  await form.getByRole("button", { name: "Send the invitation" }).click();
  await expect(page.getByText(email)).toBeVisible();
  const mail = await newestMail(page, email, /\/join\?key=/);
  return /(http:\/\/\S+\/join\?key=\S+)/.exec(mail)?.[1] ?? "";
}
