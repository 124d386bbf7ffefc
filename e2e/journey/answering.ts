import { expect, type Page } from "@playwright/test";

/** Judges every item of the desk before the therapist "in place", but for those named. */
export async function judge(page: Page, change: Readonly<Record<string, "fix" | "not-visible">> = {}): Promise<void> {
  const names = await page.locator("fieldset[data-item]").evaluateAll((items) => items.map((item) => item.getAttribute("data-item") ?? ""));
  expect(names.length).toBeGreaterThan(2);
  for (const name of names) await choose(page, `verdict.${name}`, change[name] ?? "in-place");
}

/** By the field itself: the list around it scrolls, and its label covers it. */
export async function choose(page: Page, name: string, value: string): Promise<void> {
  const radio = page.locator(`input[name="${name}"][value="${value}"]`);
  await radio.evaluate((field: HTMLInputElement) => field.click());
  await expect(radio).toBeChecked();
}

/** The words and the next step, as the family reads them. */
export async function writeSummary(page: Page, summary: string): Promise<void> {
  await page.locator('textarea[name="summary"]').fill(summary);
  await choose(page, "nextStep", "keep-going");
}

export const send = (page: Page) => page.getByRole("button", { name: "Send the answer" }).click();
export const summaryOf = (page: Page) => page.locator('textarea[name="summary"]');
/** Of the answer; "Take it again" has a reason of its own. */
export const sideReasonOf = (page: Page) => page.getByRole("form", { name: "Checklist" }).locator('textarea[name="sideReason"]');

/** Waits until the server has the draft. */
export const expectKept = (page: Page) => expect(page.getByText("Draft kept", { exact: true })).toBeVisible();
