"use server";

import { z } from "zod";
import { action } from "@/lib/access/action";
import { isStaff, type Actor } from "@/lib/access/actor";
import { readCookie } from "@/lib/access/cookies";
import { ok } from "@/lib/domain/result";
import { endOtherSignIns, endSignIn } from "@/lib/records/sign-ins";

const back = ({ role }: Actor) => ok({ goTo: isStaff(role) ? "/desk/account" : "/family/account" });

export const endSignInAction = action("sign-ins.end", z.strictObject({ signInId: z.string().max(60) }), async (granted, { signInId }, now) => {
  const ended = await endSignIn(granted, signInId, now);
  return ended.ok ? back(granted.actor) : ended;
});

export const endOthersAction = action("sign-ins.end", z.strictObject({}), async (granted, _input, now) => {
  const ended = await endOtherSignIns(granted, await readCookie("phone"), now);
  return ended.ok ? back(granted.actor) : ended;
});
