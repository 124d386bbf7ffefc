import { readFileSync } from "node:fs";
import { expect, test } from "@playwright/test";
import exifr from "exifr";
import { expectSound, personAt, PHONE } from "@/e2e/journey/person";
import { addPhoto, checkSide, finishSending, PHONE_PHOTO, storedPhoto } from "@/e2e/journey/sending";

// The package is CommonJS: its functions hang on the default export.
const readMetadata = exifr;

/** Byte strings of the phone, the day and the place that stand in the photo's metadata. */
const TRACES = ["Apple", "iPhone", "2016:03:24"];

test("a phone photo is checked and sent, and what is kept holds none of its metadata", async ({ browser }) => {
  test.slow();
  const parent = await personAt(browser, "Maeve Sorrel", PHONE);
  const { page } = parent;
  await expect(page.getByText("Photo first").first()).toBeVisible();
  await expectSound(parent);

  const photo = await addPhoto(page, "Nia");
  await expectSound(parent);
  // Back to the camera, head on the left: the left side is down, as it should be for Nia.
  await checkSide(photo, "Nia", "left");
  await expect(photo.getByText("It is not proof: only the therapist can say that the side is right.")).toBeVisible();
  await expectSound(parent);
  const stored = storedPhoto(page);
  await finishSending(page, "Nia", "LEFT", "Her first photo at home.");
  await expect(page.getByText(/Expect an answer by/).first()).toBeVisible();
  await expectSound(parent);

  // The photo that left the phone holds a place; what is kept and served holds none of its metadata.
  const original = readFileSync(PHONE_PHOTO);
  expect(await readMetadata.gps(original)).toMatchObject({ latitude: expect.any(Number) });
  for (const size of ["2048", "1024", "320"]) {
    const served = await page.request.get(`${await stored}/${size}`);
    expect(served.status()).toBe(200);
    const bytes = await served.body();
    expect(await readMetadata.parse(bytes, true).catch(() => undefined)).toBeUndefined();
    for (const trace of TRACES) {
      expect(original.includes(trace), trace).toBe(true);
      expect(bytes.includes(trace), `${trace} in ${size}`).toBe(false);
    }
  }
  await parent.context.close();
});
