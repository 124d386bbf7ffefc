"use server";

import { z } from "zod";
import { individualOf } from "@/app/desk/children/[childId]/setup/draft";
import { action } from "@/lib/access/action";
import { ok, refuse } from "@/lib/domain/result";
import { SIDES } from "@/lib/domain/sides";
import { isExerciseKey } from "@/lib/records/exercises";
import { confirmIndividualSetup, confirmSetup } from "@/lib/records/setups";

const ExerciseKey = z.string().refine(isExerciseKey);

export const confirmSetupAction = action(
  "setup.confirm",
  z.strictObject({ exerciseKey: ExerciseKey, recordId: z.string().max(60), apexSpot: z.string().trim().min(3).max(300), lieOn: z.enum(SIDES) }),
  async (granted, input, now) => {
    const confirmed = await confirmSetup(granted, input, now);
    return confirmed.ok ? ok({ goTo: `/desk/children/${granted.childId}` }) : confirmed;
  },
);

/** Names of item boxes depend on the exercise; every value is read by `individualOf` and checked there. */
const IndividualFields = z.record(z.string().regex(/^[a-zA-Z:-]{1,80}$/), z.string().max(2000));

export const confirmIndividualAction = action("setup.confirm", IndividualFields, async (granted, fields, now) => {
  const draft = individualOf(fields);
  const exerciseKey = ExerciseKey.safeParse(fields["exerciseKey"]);
  if (!draft || !exerciseKey.success) return refuse("record-incomplete");
  const confirmed = await confirmIndividualSetup(granted, {
    exerciseKey: exerciseKey.data, recordId: fields["recordId"] ?? "", apexSpot: (fields["apexSpot"] ?? "").trim().slice(0, 300), draft,
  }, now);
  return confirmed.ok ? ok({ goTo: `/desk/children/${granted.childId}` }) : confirmed;
});
