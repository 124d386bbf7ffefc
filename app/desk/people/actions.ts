"use server";

import { z } from "zod";
import { action } from "@/lib/access/action";
import { ok } from "@/lib/domain/result";
import { PhoneNumber } from "@/lib/domain/words/phone-number.schema";
import { inviteGuardian, inviteStaff } from "@/lib/records/invitations";
import { recordAgreement } from "@/lib/records/care-agreements";
import { endCare } from "@/lib/records/family-carers";
import { disablePerson, enablePerson, resetSecondFactor } from "@/lib/records/people";

const name = z.string().trim().min(1).max(80);
const email = z.string().max(400);
const id = z.string().max(60);
/** Ticked or not. */
const tick = z.literal("yes").optional().transform((said) => said === "yes");
const several = z.union([id.transform((one) => [one]), z.array(id).max(20)]).default([]);

export const inviteGuardianAction = action(
  "family.invite",
  z.strictObject({ name, email, phone: PhoneNumber, childIds: several, relation: z.enum(["guardian", "self"]), isKnownMeant: tick }),
  async (granted, input, now) => {
    const invited = await inviteGuardian(granted, input, now);
    return invited.ok ? ok({ goTo: `/desk/families/${granted.familyId}` }) : invited;
  },
);

export const recordAgreementAction = action(
  "family.invite",
  z.strictObject({ guardianId: id, careOf: id, decision: z.enum(["agreed", "represents", "ended"]), note: z.string().max(400) }),
  async (granted, input, now) => {
    const recorded = await recordAgreement(granted, input, now);
    return recorded.ok ? ok({ goTo: `/desk/families/${granted.familyId}` }) : recorded;
  },
);

export const endCareAction = action("family.invite", z.strictObject({ personId: id, careOf: id, isLastMeant: tick }), async (granted, input, now) => {
  const ended = await endCare(granted, input, now);
  return ended.ok ? ok({ goTo: `/desk/families/${granted.familyId}` }) : ended;
});

export const inviteStaffAction = action("staff.manage", z.strictObject({ name, email }), async (granted, input, now) => {
  const invited = await inviteStaff(granted, input, now);
  return invited.ok ? ok({ goTo: "/desk/practice" }) : invited;
});

export const disablePersonAction = action("staff.manage", z.strictObject({ personId: id }), async (granted, { personId }, now) => {
  const disabled = await disablePerson(granted, personId, now);
  return disabled.ok ? ok({ goTo: "/desk/practice" }) : disabled;
});

export const enablePersonAction = action("staff.manage", z.strictObject({ personId: id }), async (granted, { personId }, now) => {
  const enabled = await enablePerson(granted, personId, now);
  return enabled.ok ? ok({ goTo: "/desk/practice" }) : enabled;
});

export const resetFactorAction = action("staff.manage", z.strictObject({ personId: id }), async (granted, { personId }, now) => {
  const reset = await resetSecondFactor(granted, personId, now);
  return reset.ok ? ok({ goTo: "/desk/practice" }) : reset;
});
