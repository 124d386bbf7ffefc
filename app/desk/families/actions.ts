"use server";

import { z } from "zod";
import { action } from "@/lib/access/action";
import { ok } from "@/lib/domain/result";
import { addChild, addFamily } from "@/lib/records/families";

const Name = z.string().trim().min(1).max(80);

export const addFamilyAction = action("families.add", z.strictObject({ name: Name }), async (granted, { name }, now) => {
  const added = await addFamily(granted, name, now);
  return added.ok ? ok({ goTo: `/desk/families/${added.value.familyId}` }) : added;
});

export const addChildAction = action(
  "child.add",
  z.strictObject({ givenName: Name, bornIn: z.string().regex(/^(19|20)\d{2}-(0[1-9]|1[0-2])$/) }),
  async (granted, input, now) => {
    const added = await addChild(granted, input, now);
    return added.ok ? ok({ goTo: `/desk/children/${added.value.childId}` }) : added;
  },
);
