"use server";

import { z } from "zod";
import { action } from "@/lib/access/action";
import { isStaff, type Actor } from "@/lib/access/actor";
import { ok } from "@/lib/domain/result";
import { askForAddress, takeAddress } from "@/lib/records/own-address";

const home = ({ role }: Actor): string => (isStaff(role) ? "/desk/account/address" : "/family/account/address");

export const askForAddressAction = action("address.change", z.strictObject({ address: z.string().max(254) }), async (granted, { address }, now) => {
  const asked = await askForAddress(granted, address, now);
  return asked.ok ? ok({ goTo: `${home(granted.actor)}?for=${asked.value.asked}` }) : asked;
});

export const takeAddressAction = action("address.change", z.strictObject({ asked: z.string().max(2000), code: z.string().max(40) }), async (granted, input, now) => {
  const taken = await takeAddress(granted, input, now);
  return taken.ok ? ok({ goTo: `${home(granted.actor)}?done=yes` }) : taken;
});
