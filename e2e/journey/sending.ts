import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { expect, type Page } from "@playwright/test";

/** A real phone photo out of a registry package: EXIF orientation 6, with GPS, maker, model and date. */
export const PHONE_PHOTO = join(fileURLToPath(new URL("../../", import.meta.url)), "node_modules/jpeg-exif/test/IMG_0001.JPG");

/** From the family's first screen to the side check of one photo: child chosen, photo added, taken from behind. */
export async function addPhoto(page: Page, child: string): Promise<void> {
  await page.goto("/family/send");
  await page.getByRole("link", { name: new RegExp(`^${child}:`) }).or(page.getByRole("button", { name: new RegExp(`^${child}:`) })).click();
  await page.locator("input[type=file]").first().setInputFiles(PHONE_PHOTO);
  await expect(page.getByRole("img", { name: /Photo 1/ })).toBeVisible({ timeout: 30_000 });
}

/** Says where the head is and what faces the camera, after turning the floor down. */
export async function checkSide(page: Page, child: string, head: "left" | "right"): Promise<void> {
  await page.getByRole("button", { name: "Turn clockwise" }).click();
  await expect(page.getByRole("button", { name: "The floor is at the bottom" })).toBeEnabled();
  await page.getByRole("button", { name: "The floor is at the bottom" }).click();
  await page.getByRole("button", { name: `The head is on the ${head} of the picture` }).click();
  await page.getByLabel(`The back of ${child}`).check();
}
