"use server";

import { z } from "zod";
import { normalisedAddress } from "@/lib/access/address";
import { afterFirstStep } from "@/lib/access/first-step";
import { acceptInvitation } from "@/lib/access/invitation";
import { openAction } from "@/lib/access/open-action";
import { refuse } from "@/lib/domain/result";
import { isZone } from "@/lib/domain/time/zone";

const key = z.string().max(100);
const words = z.string().trim().min(1).max(80);

export const joinAction = openAction(z.strictObject({ key }), async (input, now) => {
  const accepted = acceptInvitation(input.key, null, now);
  return accepted.ok ? afterFirstStep(accepted.value.personId, "invitation", "/join/next", now) : accepted;
});

/** The first lead of a new practice says who they are. */
export const joinFirstAction = openAction(
  z.strictObject({ key, name: words, email: z.string().max(400), practiceName: words, timeZone: z.string().refine(isZone) }),
  async ({ key: given, ...input }, now) => {
    const email = normalisedAddress(input.email);
    if (email === null) return refuse("address-invalid", { field: "email" });
    const accepted = acceptInvitation(given, { ...input, email }, now);
    return accepted.ok ? afterFirstStep(accepted.value.personId, "invitation", "/", now) : accepted;
  },
);
