import { expect, test } from "@playwright/test";
import jsQR from "jsqr";
import sharp from "sharp";
import { expectSound, personAt, PHONE } from "@/e2e/journey/person";

/** CSS: 96 pixels an inch, of 25.4 millimetres. */
const MM = 96 / 25.4;

test("a parent makes the side card, and it prints on one page at its true size without a side on it", async ({ browser }) => {
  const parent = await personAt(browser, "Anouk Vossler", PHONE);
  const { page } = parent;
  await page.goto("/family/account");
  await page.getByRole("link", { name: "Print the side card for Lena" }).click();
  await page.getByRole("button", { name: "Make the card" }).click();
  await expect(page.getByRole("button", { name: "Print" })).toBeVisible();
  await expectSound(parent);

  for (const [format, width] of [["A4", 210], ["Letter", 216]] as const) {
    const pdf = await page.pdf({ format });
    expect(pdf.toString("latin1").match(/\/Type\s*\/Page\b(?!s)/g), format).toHaveLength(1);
    await page.setViewportSize({ width: Math.round((width - 20) * MM), height: 1100 });
    await page.emulateMedia({ media: "print" });
    const words = await page.evaluate(() => document.body.innerText);
    expect(words).toContain("THIS WAY UP");
    expect(words).not.toMatch(/\b(?:left|right|Lena)\b/i);
    const { data, info } = await sharp(await page.screenshot({ scale: "css" })).ensureAlpha().raw().toBuffer({ resolveWithObject: true });
    const read = jsQR(new Uint8ClampedArray(data), info.width, info.height);
    expect(read?.data).toMatch(/^TS1[0-9A-Z]{13}$/);
    const { topLeftCorner, topRightCorner, bottomLeftCorner } = read?.location ?? { topLeftCorner: { x: 0, y: 0 }, topRightCorner: { x: 0, y: 0 }, bottomLeftCorner: { x: 0, y: 0 } };
    expect(Math.abs((topRightCorner.x - topLeftCorner.x) / MM - 120), format).toBeLessThan(2);
    expect(Math.abs((bottomLeftCorner.y - topLeftCorner.y) / MM - 120), format).toBeLessThan(2);
    await page.emulateMedia({ media: null });
  }
  await parent.context.close();
});
