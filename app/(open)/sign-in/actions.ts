"use server";

import { z } from "zod";
import { normalisedAddress } from "@/lib/access/address";
import { ownPath, readAsked, rememberAsked } from "@/lib/access/asked";
import { clientNetwork } from "@/lib/access/client-network";
import { readCookie } from "@/lib/access/cookies";
import { demoPerson } from "@/lib/access/demo";
import type { Done } from "@/lib/access/action";
import { afterFirstStep } from "@/lib/access/first-step";
import { openAction } from "@/lib/access/open-action";
import { assertionOf, attestationOf, PasskeyResponse } from "@/lib/access/passkey.schema";
import { proveByNewPasskey, proveByPasskey, proveByPasskeyAlone, proveByRecoveryCode, proveByTotp, type Proved } from "@/lib/access/second-factor";
import { startSession } from "@/lib/access/session";
import { rememberCodes } from "@/lib/access/shown-codes";
import { askForCode, redeemCode, redeemLink } from "@/lib/access/sign-in-code";
import { ok, refuse, type Result } from "@/lib/domain/result";

const address = z.string().max(400);
const code = z.string().max(40);

export const askForCodeAction = openAction(z.strictObject({ email: address, goTo: z.string().max(200).default("") }), async ({ email, goTo }, now) => {
  const normalised = normalisedAddress(email);
  if (normalised === null) return refuse("address-invalid", { field: "email" });
  const asked = askForCode(normalised, await clientNetwork(), now);
  if (!asked.ok) return asked;
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
  const token = await readCookie("second-step");
  return signIn(token ? proveByTotp(token, typed, now) : refuse("second-step-over"), now);
});

export const recoveryCodeAction = openAction(z.strictObject({ code }), async ({ code: typed }, now) => {
  const token = await readCookie("second-step");
  return signIn(token ? proveByRecoveryCode(token, typed, now) : refuse("second-step-over"), now);
});

export const passkeyAction = openAction(PasskeyResponse, async ({ response }, now) => {
  const [token, shown] = [await readCookie("second-step"), assertionOf(response)];
  return signIn(!shown ? refuse("second-factor-wrong") : token ? await proveByPasskey(token, shown, now) : refuse("second-step-over"), now);
});

export const newPasskeyAction = openAction(PasskeyResponse, async ({ response }, now) => {
  const [token, made] = [await readCookie("second-step"), attestationOf(response)];
  return signIn(!made ? refuse("second-factor-wrong") : token ? await proveByNewPasskey(token, made, now) : refuse("second-step-over"), now);
});

export const passkeyAloneAction = openAction(PasskeyResponse, async ({ response, goTo }, now) => {
  const shown = assertionOf(response);
  const proved = shown ? await proveByPasskeyAlone(shown, now) : refuse("second-factor-wrong");
  if (!proved.ok) return proved;
  return (await startSession(proved.value.personId, now, now)) ? ok({ goTo: ownPath(goTo) }) : refuse("second-factor-wrong");
});

/** Only in the demo, and only as one of its invented people. */
export const demoAction = openAction(z.strictObject({ person: z.string().max(60), goTo: z.string().max(200).default("") }), async ({ person, goTo }, now) => {
  const invented = demoPerson(person);
  if (!invented) return refuse("form-invalid");
  return (await startSession(invented.personId, now, now)) ? ok({ goTo: ownPath(goTo) }) : refuse("form-invalid");
});

/** To where they were going; with a factor just set up, first to the recovery codes that came with it. */
async function signIn(proved: Result<Proved>, now: number): Promise<Result<Done>> {
  if (!proved.ok) return proved;
  const { personId, codes } = proved.value;
  const asked = await readAsked();
  if (!(await startSession(personId, now, now))) return refuse("second-step-over");
  if (!codes) return ok({ goTo: asked?.goTo ?? "/" });
  await rememberCodes(personId, codes, now);
  return ok({ goTo: "/desk/account/codes" });
}
