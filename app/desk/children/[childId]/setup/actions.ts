"use server";

import { z } from "zod";
import { individualOf } from "@/app/desk/children/[childId]/setup/draft";
import { action } from "@/lib/access/action";
import { ok, refuse } from "@/lib/domain/result";
import { SIDES } from "@/lib/domain/sides";
import { confirmIndividualSetup, confirmSetup } from "@/lib/records/setups";

const Offered = { exerciseKey: z.string().max(64), exerciseVersion: z.coerce.number().int().min(1) };

export const confirmSetupAction = action(
  "setup.confirm",
  z.strictObject({ ...Offered, recordId: z.string().max(60), apexSpot: z.string().trim().min(3).max(300), lieOn: z.enum(SIDES) }),
  async (granted, input, now) => {
    const confirmed = await confirmSetup(granted, input, now);
    return confirmed.ok ? ok({ goTo: `/desk/children/${granted.childId}` }) : confirmed;
  },
);

/** Names of item boxes depend on the exercise; every value is read by `individualOf` and checked there. */
const IndividualFields = z.record(z.string().regex(/^[a-zA-Z:-]{1,80}$/), z.string().max(2000));

export const confirmIndividualAction = action("setup.confirm", IndividualFields, async (granted, fields, now) => {
  const draft = individualOf(fields);
  const offered = z.object(Offered).safeParse(fields);
  if (!draft || !offered.success) return refuse("record-incomplete");
  const confirmed = await confirmIndividualSetup(granted, {
    ...offered.data, recordId: fields["recordId"] ?? "", apexSpot: (fields["apexSpot"] ?? "").trim().slice(0, 300), draft,
  }, now);
  return confirmed.ok ? ok({ goTo: `/desk/children/${granted.childId}` }) : confirmed;
});
