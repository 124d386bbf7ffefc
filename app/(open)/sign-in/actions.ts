"use server";

import { z } from "zod";
import { normalisedAddress } from "@/lib/access/address";
import { ownPath, readAsked, rememberAsked } from "@/lib/access/asked";
import { readCookie } from "@/lib/access/cookies";
import { demoPerson } from "@/lib/access/demo";
import { afterFirstStep } from "@/lib/access/first-step";
import { openAction } from "@/lib/access/open-action";
import { assertionOf, attestationOf, PasskeyResponse } from "@/lib/access/passkey.schema";
import { proveByNewPasskey, proveByPasskey, proveByPasskeyAlone, proveByTotp } from "@/lib/access/second-factor";
import { startSession } from "@/lib/access/session";
import { askForCode, redeemCode, redeemLink } from "@/lib/access/sign-in-code";
import { ok, refuse } from "@/lib/domain/result";

const address = z.string().max(400);
const code = z.string().max(40);

export const askForCodeAction = openAction(z.strictObject({ email: address, goTo: z.string().max(200).default("") }), async ({ email, goTo }, now) => {
  const normalised = normalisedAddress(email);
  if (normalised === null) return refuse("address-invalid", { field: "email" });
  askForCode(normalised, now);
  await rememberAsked(normalised, goTo);
  return ok({ goTo: "/sign-in/code" });
});

/** The address is what this browser asked for, or what is typed where nothing was asked. */
export const codeAction = openAction(z.strictObject({ code, email: address.optional() }), async ({ code: typed, email }, now) => {
  const asked = await readAsked();
  const own = email === undefined ? (asked?.address ?? null) : normalisedAddress(email);
  if (own === null) return refuse(email === undefined ? "code-expired" : "address-invalid");
  const redeemed = redeemCode(own, typed, now);
  return redeemed.ok ? afterFirstStep(redeemed.value.personId, "mail", asked?.goTo ?? "/", now) : redeemed;
});

export const linkAction = openAction(z.strictObject({ key: z.string().max(100) }), async ({ key }, now) => {
  const asked = await readAsked();
  if (!asked) return refuse("link-elsewhere");
  const redeemed = redeemLink(asked.address, key, now);
  return redeemed.ok ? afterFirstStep(redeemed.value.personId, "mail", asked.goTo, now) : redeemed;
});

export const totpAction = openAction(z.strictObject({ code }), async ({ code: typed }, now) => {
  const [token, asked] = [await readCookie("second-step"), await readAsked()];
  const proved = token ? proveByTotp(token, typed, now) : refuse("second-step-over");
  if (!proved.ok) return proved;
  return (await startSession(proved.value.personId, now, now)) ? ok({ goTo: asked?.goTo ?? "/" }) : refuse("second-step-over");
});

export const passkeyAction = openAction(PasskeyResponse, async ({ response }, now) => {
  const [token, asked] = [await readCookie("second-step"), await readAsked()];
  const shown = assertionOf(response);
  const proved = !shown ? refuse("second-factor-wrong") : token ? await proveByPasskey(token, shown, now) : refuse("second-step-over");
  if (!proved.ok) return proved;
  return (await startSession(proved.value.personId, now, now)) ? ok({ goTo: asked?.goTo ?? "/" }) : refuse("second-step-over");
});

export const newPasskeyAction = openAction(PasskeyResponse, async ({ response }, now) => {
  const token = await readCookie("second-step");
  const made = attestationOf(response);
  const proved = !made ? refuse("second-factor-wrong") : token ? await proveByNewPasskey(token, made, now) : refuse("second-step-over");
  if (!proved.ok) return proved;
  return (await startSession(proved.value.personId, now, now)) ? ok({ goTo: "/" }) : refuse("second-step-over");
});

export const passkeyAloneAction = openAction(PasskeyResponse, async ({ response, goTo }, now) => {
  const shown = assertionOf(response);
  const proved = shown ? await proveByPasskeyAlone(shown, now) : refuse("second-factor-wrong");
  if (!proved.ok) return proved;
  return (await startSession(proved.value.personId, now, now)) ? ok({ goTo: ownPath(goTo) }) : refuse("second-factor-wrong");
});

/** Only in the demo, and only as one of its invented people. */
export const demoAction = openAction(z.strictObject({ person: z.string().max(60) }), async ({ person }, now) => {
  const invented = demoPerson(person);
  if (!invented) return refuse("form-invalid");
  return (await startSession(invented.personId, now, now)) ? ok({ goTo: "/" }) : refuse("form-invalid");
});
