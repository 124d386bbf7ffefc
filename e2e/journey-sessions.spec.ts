import { expect, test } from "@playwright/test";
import { pagesIn } from "@/e2e/journey/paper";
import { expectSound, LAPTOP, personAt, PHONE, signIn, someone } from "@/e2e/journey/person";

/** A day so many days from now, as a date field takes it. */
const dayIn = (days: number): string => new Date(Date.now() + days * 86_400_000).toISOString().slice(0, 10);

test("a session is planned, families ask to come, only whom it fits is taken in, asked for a photo and reminded once", async ({ browser }) => {
  const ines = await personAt(browser, "Ines Calloway", LAPTOP);
  await ines.page.getByRole("navigation").getByRole("link", { name: "Sessions" }).click();
  await ines.page.getByLabel("Exercise and curve pattern").selectOption({ label: "Side-lying over a small prop, top arm up: lumbar left" });
  await ines.page.getByLabel("Date", { exact: true }).fill(dayIn(5));
  await ines.page.getByLabel("Time", { exact: true }).fill("18:15");
  await ines.page.getByLabel("How to join").fill("Lie on the right side before the call.");
  await ines.page.getByRole("button", { name: "Plan a session" }).click();
  await expect(ines.page.getByRole("alert").filter({ hasText: "does not fit this session's set-up" })).toBeVisible();
  await ines.page.getByLabel("How to join").fill("By video: https://call.alderbrook.example/room-9.");
  await ines.page.getByRole("button", { name: "Plan a session" }).click();
  await expect(ines.page.getByRole("heading", { level: 1 })).toContainText("18:15");
  const address = ines.page.url();
  await ines.page.getByRole("button", { name: "Make an invitation" }).click();
  const link = await ines.page.getByLabel(/^Works until/).inputValue();
  expect(new URL(link).searchParams.get("key")).toMatch(/^[\w-]{43}$/);
  await expect(ines.page.getByRole("img", { name: "The same address as a QR code" })).toBeVisible();
  await expectSound(ines);
  await ines.context.grantPermissions(["clipboard-read", "clipboard-write"]);
  await ines.page.getByRole("button", { name: "Copy the address" }).click();
  await expect(ines.page.getByText("Copied.")).toBeVisible();
  expect(await ines.page.evaluate(() => navigator.clipboard.readText())).toBe(link);
  // The sheet to hand out: the address, when and until when, nobody's name, no exercise and no pattern.
  await ines.page.getByRole("link", { name: "A sheet to print" }).click();
  const sheet = ines.page.getByRole("region", { name: "Session invitation" });
  await expect(sheet).toContainText(link);
  for (const words of ["18:15", "This invitation works until", "Exercise, written in by hand:", "Esta invitación sirve hasta"]) await expect(sheet).toContainText(words);
  await expect(sheet).not.toContainText(/Side-lying|lumbar|Calloway|Alderbrook|room-9|LEFT|RIGHT/);
  await expectSound(ines);
  await ines.page.emulateMedia({ media: "print" });
  await expect(ines.page.getByRole("heading", { name: "A sheet to print" })).toBeHidden();
  for (const format of ["A4", "Letter"]) expect(pagesIn(await ines.page.pdf({ format }))).toBe(1);
  await ines.page.emulateMedia({ media: "screen" });
  await ines.page.goto(address);

  // A stranger learns nothing, and is led back here once they are known.
  const maeve = await someone(browser, PHONE);
  await maeve.page.goto(link);
  await expect(maeve.page.getByText("Ask your practice for an invitation of your own first")).toBeVisible();
  await expect(maeve.page.getByText("18:15")).toHaveCount(0);
  await expectSound(maeve);
  await maeve.page.getByRole("link", { name: "Sign in" }).click();
  await maeve.page.getByRole("button", { name: /Maeve Sorrel/ }).click();
  await expect(maeve.page.getByRole("heading", { level: 1 })).toContainText("18:15");
  await expectSound(maeve);
  await maeve.page.getByRole("button", { name: "Ask to come with Nia" }).click();
  await expect(maeve.page.getByText("You have asked to come with Nia.")).toBeVisible();

  // The mirror image and the double curve: told so, and the exercise is not so much as named.
  const anouk = await someone(browser, PHONE);
  await signIn(anouk, "Anouk Vossler");
  await anouk.page.goto(link);
  for (const child of ["Lena", "Felix"]) await expect(anouk.page.getByText(`This session is for another curve pattern, not for ${child}.`)).toBeVisible();
  await expect(anouk.page.getByText("Side-lying")).toHaveCount(0);
  await expect(anouk.page.getByText(/Nia|Sorrel/)).toHaveCount(0);
  await expect(anouk.page.getByRole("button", { name: /Ask to come/ })).toHaveCount(0);
  await expectSound(anouk);

  // Two therapists decide at once: the second is told.
  const tom = await personAt(browser, "Tom Ferrant", LAPTOP);
  await tom.page.goto(address);
  await expect(tom.page.getByRole("button", { name: "Decline Nia" })).toBeVisible();
  await ines.page.goto(address);
  await ines.page.getByRole("button", { name: "Take Nia in" }).click();
  await expect(ines.page.getByRole("row", { name: /Nia/ })).toContainText("Not asked yet");
  await tom.page.getByRole("button", { name: "Decline Nia" }).click();
  await expect(tom.page.getByText("Somebody changed this meanwhile.")).toBeVisible();

  await ines.page.getByLabel("Photo wanted by").fill(dayIn(9));
  await ines.page.getByRole("button", { name: "Ask for a photo" }).click();
  await expect(ines.page.getByRole("row", { name: /Nia/ })).toContainText(/Asked.*due/);
  await ines.page.getByRole("button", { name: "Remind who has not sent" }).click();
  await expect(ines.page.getByText("Everybody who has not sent was mailed today.")).toBeVisible();
  await expectSound(ines);

  await maeve.page.goto("/family");
  const theirs = maeve.page.getByRole("article").filter({ hasText: "Group session for Nia" });
  await expect(theirs).toContainText(/Your therapist asks for a photo of Nia by/);
  await expect(maeve.page.getByRole("link", { name: "https://call.alderbrook.example/room-9" })).toHaveAttribute("href", "https://call.alderbrook.example/room-9");
  await expect(maeve.page.getByRole("link", { name: "Take the photo asked for" })).toHaveAttribute("href", /^\/family\/send\?child=.+&exercise=side-lying$/);
  await expectSound(maeve);

  // Withdrawn, the link says what any made-up one says.
  await ines.page.getByRole("button", { name: "Withdraw this invitation" }).click();
  await expect(ines.page.getByText("No invitation is open.")).toBeVisible();
  const said: string[] = [];
  for (const at of [link, link.replace(/key=.*/, "key=made-up")]) {
    await anouk.page.goto(at);
    said.push(await anouk.page.getByRole("main").innerText());
  }
  expect(said[0]).toContain("This link does not work");
  expect(said[1]).toBe(said[0]);

  await ines.page.getByRole("button", { name: "Call this session off" }).click();
  await maeve.page.goto("/family");
  await expect(theirs).toContainText("This session does not take place.");
  await expect(maeve.page.getByRole("link", { name: "Take the photo asked for" })).toHaveCount(0);
});
