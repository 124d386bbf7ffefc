"use server";

import { z } from "zod";
import { action } from "@/lib/access/action";
import { assertionOf, attestationOf, PasskeyResponse } from "@/lib/access/passkey.schema";
import { forgetCodes, rememberCodes } from "@/lib/access/shown-codes";
import { ok } from "@/lib/domain/result";
import { addPasskey, moveApp, removePasskey, renewRecoveryCodes } from "@/lib/records/own-sign-in";
import { proveAgain, proveAgainByPasskey, proveAgainInDemo } from "@/lib/records/proof";

const HERE = { goTo: "/desk/account" };
const PROVED = { goTo: "/desk/account/proof" };
const Code = z.strictObject({ code: z.string().max(40) });

export const proveByTotpAction = action("sign-in.prove", Code, async (granted, { code }, now) => {
  const proved = await proveAgain(granted, { factor: "totp", code }, now);
  return proved.ok ? ok(PROVED) : proved;
});

export const proveByRecoveryCodeAction = action("sign-in.prove", Code, async (granted, { code }, now) => {
  const proved = await proveAgain(granted, { factor: "recovery-code", code }, now);
  return proved.ok ? ok(PROVED) : proved;
});

export const proveByPasskeyAction = action("sign-in.prove", PasskeyResponse, async (granted, { response }, now) => {
  const proved = await proveAgainByPasskey(granted, assertionOf(response), now);
  return proved.ok ? ok(PROVED) : proved;
});

export const proveInDemoAction = action("sign-in.prove", z.strictObject({}), async (granted, _input, now) => {
  const proved = await proveAgainInDemo(granted, now);
  return proved.ok ? ok(PROVED) : proved;
});

export const renewCodesAction = action("sign-in.change", z.strictObject({}), async (granted, _input, now) => {
  const renewed = await renewRecoveryCodes(granted, now);
  if (!renewed.ok) return renewed;
  if (renewed.value) await rememberCodes(granted.actor.personId, renewed.value, now);
  return ok({ goTo: "/desk/account/codes" });
});

/** They are written down: this browser forgets them. */
export const codesKeptAction = action("sign-in.read", z.strictObject({}), async () => {
  await forgetCodes();
  return ok(HERE);
});

export const addPasskeyAction = action("sign-in.change", PasskeyResponse, async (granted, { response }, now) => {
  const added = await addPasskey(granted, attestationOf(response), now);
  return added.ok ? ok(HERE) : added;
});

export const moveAppAction = action("sign-in.change", z.strictObject({ sealed: z.string().max(2000), code: z.string().max(40) }), async (granted, input, now) => {
  const moved = await moveApp(granted, input, now);
  return moved.ok ? ok(HERE) : moved;
});

export const removePasskeyAction = action("sign-in.change", z.strictObject({ passkeyId: z.string().max(60) }), async (granted, { passkeyId }, now) => {
  const removed = await removePasskey(granted, passkeyId, now);
  return removed.ok ? ok(HERE) : removed;
});
