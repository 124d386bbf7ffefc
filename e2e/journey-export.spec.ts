import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { pathToFileURL } from "node:url";
import { expect, test } from "@playwright/test";
import { newestMail } from "@/e2e/journey/mail";
import { expectSound, personAt, PHONE, someone } from "@/e2e/journey/person";
import { readZip } from "@/tests/records/read-zip";

test("a mother shows that it is her, takes everything of her child with her, and reads it from her own disk", async ({ browser }) => {
  const mother = await personAt(browser, "Anouk Vossler", PHONE);
  const { page } = mother;
  await page.goto("/family/account");
  await page.getByRole("link", { name: "Take everything of Lena with you" }).click();
  await expect(page.getByRole("heading", { name: "Take everything with you" })).toBeVisible();
  await expectSound(mother);
  await page.getByRole("button", { name: "Make the file" }).click();
  await expect(page.getByText("For this you first show that it is you")).toBeVisible();

  await page.getByRole("link", { name: "Show that it is you", exact: true }).click();
  await page.getByRole("button", { name: "Send me a code" }).click();
  await expect(page.getByLabel("8-digit code")).toBeVisible();
  await expectSound(mother);
  const mailbox = await someone(browser, PHONE);
  const mail = await newestMail(mailbox.page, "anouk", /code to show that it is you: \d{8}/);
  await page.getByLabel("8-digit code").fill(/: (\d{8})\b/.exec(mail)?.[1] ?? "");
  await page.getByRole("button", { name: "That is me" }).click();
  await expect(page.getByText("You have shown that it is you.")).toBeVisible();

  await page.goto("/family/account");
  await page.getByRole("link", { name: "Take everything of Lena with you" }).click();
  await page.getByRole("button", { name: "Make the file" }).click();
  const link = page.getByRole("link", { name: "Take the file" });
  await expect(link).toBeVisible({ timeout: 60_000 });
  await expectSound(mother);
  const [download] = await Promise.all([page.waitForEvent("download"), link.click()]);
  expect(download.suggestedFilename()).toBe("trueside-record.zip");

  const folder = mkdtempSync(join(tmpdir(), "trueside-taken-"));
  for (const [path, bytes] of await readZip(readFileSync(await download.path()))) {
    mkdirSync(dirname(join(folder, path)), { recursive: true });
    writeFileSync(join(folder, path), bytes);
  }
  const reader = await someone(browser, PHONE, { javaScriptEnabled: false });
  await reader.page.goto(pathToFileURL(join(folder, "index.html")).href);
  await expect(reader.page.getByRole("heading", { name: "Lena: everything in Trueside" })).toBeVisible();
  await expect(reader.page.getByText("It does not say what may be done today")).toBeVisible();
  const picture = reader.page.getByRole("img").first();
  await picture.scrollIntoViewIfNeeded();
  await expect(picture).toHaveJSProperty("complete", true);
  expect(reader.complaints).toEqual([]);
  rmSync(folder, { recursive: true });
});
