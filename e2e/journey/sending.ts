import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { expect, type Locator, type Page } from "@playwright/test";

/** A real phone photo out of a registry package: EXIF orientation 6, with GPS, maker, model and date. */
export const PHONE_PHOTO = join(fileURLToPath(new URL("../../", import.meta.url)), "node_modules/jpeg-exif/test/IMG_0001.JPG");

/** The child chosen and one photo added, taken from behind; gives the part of the page about that photo. */
export async function addPhoto(page: Page, child: string): Promise<Locator> {
  await page.goto("/family/send");
  await page.getByRole("main").getByRole("link", { name: new RegExp(`^${child}:`) }).click();
  await page.getByLabel("Choose a photo").setInputFiles(PHONE_PHOTO);
  await page.getByRole("button", { name: "Use this photo" }).click({ timeout: 30_000 });
  const photo = page.getByRole("region", { name: "Photo 1" });
  await expect(photo).toBeVisible({ timeout: 30_000 });
  return photo;
}

/** Turns the photo once, says that the floor is down, where the head is, and that the back faces the camera. */
export async function checkSide(photo: Locator, child: string, head: "left" | "right"): Promise<void> {
  const picture = photo.locator("img").first();
  const before = await picture.getAttribute("src");
  await photo.getByRole("button", { name: "Turn clockwise" }).click();
  await expect(picture).not.toHaveAttribute("src", before ?? "", { timeout: 30_000 });
  await photo.getByRole("button", { name: "The floor is at the bottom" }).click();
  await photo.getByRole("button", { name: `The head is on the ${head} of the picture` }).click();
  await photo.getByRole("button", { name: `The back of ${child}` }).click();
}

/** From the checked photo to the sent photo set: nothing hurts, a note, the last look. */
export async function finishSending(page: Page, child: string, side: "LEFT" | "RIGHT", note: string): Promise<void> {
  await toLastLook(page, note);
  await expect(page.getByText(`This is ${child}. ${child} lies on ${child}'s ${side}.`)).toBeVisible();
  await page.getByRole("button", { name: "Yes, send it" }).click();
  await page.waitForURL(/\/family\/history/);
}

/** From the checked photo to the last look: nothing hurts but what is named. */
export async function toLastLook(page: Page, note: string, hurts?: string): Promise<void> {
  const justNow = page.getByRole("button", { name: "Just now" });
  if (await justNow.count() > 0) await justNow.click();
  await page.getByRole("button", { name: "Next" }).click();
  for (const none of await page.getByLabel("None of these").all()) await none.check();
  if (hurts) await page.getByLabel(hurts).check();
  await page.getByLabel(/A note for the therapist/).fill(note);
  await page.getByRole("button", { name: "Next" }).click();
  await expect(page.getByRole("button", { name: "Yes, send it" })).toBeVisible();
}

/** Where the server has the first photo of the set that this page finishes next, without the size. To be called before that. The request says it: an answer's body may be gone with its page. */
export async function storedPhoto(page: Page): Promise<string> {
  const request = await page.waitForRequest((each) => each.method() === "POST" && /\/api\/photo-sets\/[^/?]+$/.test(each.url()));
  const { photos: [photo] } = request.postDataJSON() as { readonly photos: readonly { readonly photoId: string }[] }; // our own queue's request
  return `/media/${new URL(request.url()).pathname.split("/").at(-1)}/${photo?.photoId}`;
}
