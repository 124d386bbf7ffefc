import { join } from "node:path";
import { fileURLToPath } from "node:url";
import type { Browser, BrowserContext, Page } from "@playwright/test";
import { PHONE } from "@/e2e/journey/person";

const PACKAGES = join(fileURLToPath(new URL("../..", import.meta.url)), "node_modules");
export const PHOTOS = [
  ["phone, 8 MP, 0.7 MB", "jpeg-exif/test/IMG_0001.JPG"],
  ["camera, 24 MP, 6.6 MB", "exif/test/sony-alpha-6000.jpg"],
] as const;

/** A poor connection and a cheap phone: 1.6 Mbit/s each way, 150 ms, a processor four times slower than this one. */
const SLOW_LINE = { offline: false, latency: 150, downloadThroughput: 200_000, uploadThroughput: 200_000 };
export const SLOWER = 4;
/** The child of the demo who sends a first photo. */
export const [PARENT, CHILD] = ["Maeve Sorrel", "Nia"];
export const THERAPIST = "Tom Ferrant";
export const DESK_PAGES = ["/desk", "/desk/caseload"];
export const PAGES = ["/family", "/family/history", "/family/symptom", "/family/account", "/family/send", "/kept", "/sign-in"];

export async function signedIn(browser: Browser, origin: string, who = PARENT): Promise<{ readonly context: BrowserContext; readonly page: Page }> {
  const context = await browser.newContext({ ...PHONE, baseURL: origin });
  const page = await context.newPage();
  await page.goto("/sign-in");
  await page.getByRole("button", { name: new RegExp(who) }).click();
  await page.waitForURL(/\/(?:family|desk)/);
  return { context, page };
}

export async function braked(page: Page): Promise<Page> {
  const session = await page.context().newCDPSession(page);
  await session.send("Network.emulateNetworkConditions", SLOW_LINE);
  await session.send("Emulation.setCPUThrottlingRate", { rate: SLOWER });
  return page;
}

export async function toSending(page: Page): Promise<void> {
  await page.goto("/family/send");
  await page.getByRole("main").getByRole("link", { name: new RegExp(`^${CHILD}:`) }).click();
  await page.getByLabel("Choose a photo").waitFor({ state: "attached" });
}

/** Until it can be looked at. */
export async function choosePhoto(page: Page, path: string): Promise<void> {
  await page.getByLabel("Choose a photo").setInputFiles(join(PACKAGES, path));
  await page.getByRole("button", { name: "Use this photo" }).waitFor({ timeout: 120_000 });
}

export async function toLastLook(page: Page): Promise<void> {
  const photo = page.getByRole("region", { name: "Photo 1" });
  await photo.getByRole("button", { name: "The floor is at the bottom" }).click({ timeout: 60_000 });
  await photo.getByRole("button", { name: "The head is on the left of the picture" }).click();
  await photo.getByRole("button", { name: `The back of ${CHILD}` }).click();
  await page.getByRole("button", { name: "Next" }).click();
  for (const none of await page.getByLabel("None of these").all()) await none.check();
  await page.getByRole("button", { name: "Next" }).click();
  await page.getByRole("button", { name: "Yes, send it" }).waitFor();
}

/** The last press, until the server says that the set is stored. */
export async function sendIt(page: Page): Promise<void> {
  const finished = page.waitForResponse((answer) => /\/api\/photo-sets\//.test(answer.url()) && answer.ok(), { timeout: 120_000 });
  await page.getByRole("button", { name: "Yes, send it" }).click();
  await finished;
}
