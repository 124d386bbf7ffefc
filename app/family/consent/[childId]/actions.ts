"use server";

import { z } from "zod";
import { action } from "@/lib/access/action";
import { ok } from "@/lib/domain/result";
import { PURPOSES } from "@/lib/messages/consent-text";
import { decideConsent, STANDINGS } from "@/lib/records/consents";

const purpose = z.enum(PURPOSES);

export const giveConsentAction = action(
  "consent.give",
  z.strictObject({ purpose, standing: z.enum(STANDINGS), textVersion: z.string().max(20) }),
  async (granted, input, now) => {
    const given = await decideConsent(granted, { ...input, decision: "given" }, now);
    // The photos first: then the next child that nobody has decided about, or the first screen.
    return given.ok ? ok({ goTo: input.purpose === "photos" ? "/join/next" : `/family/consent/${granted.childId}` }) : given;
  },
);

export const withdrawConsentAction = action("consent.give", z.strictObject({ purpose, textVersion: z.string().max(20) }), async (granted, input, now) => {
  const withdrawn = await decideConsent(granted, { ...input, decision: "withdrawn", standing: null }, now);
  return withdrawn.ok ? ok({ goTo: `/family/consent/${granted.childId}` }) : withdrawn;
});
