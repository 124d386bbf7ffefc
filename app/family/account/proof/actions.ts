"use server";

import { z } from "zod";
import { action } from "@/lib/access/action";
import { ok } from "@/lib/domain/result";
import { askForProof, showProof } from "@/lib/records/mailed-proof";

const HERE = { goTo: "/family/account/proof" };

export const askForProofAction = action("mail-proof.show", z.strictObject({}), async (granted, _input, now) => {
  const asked = await askForProof(granted, now);
  return asked.ok ? ok(HERE) : asked;
});

export const showProofAction = action("mail-proof.show", z.strictObject({ code: z.string().max(40) }), async (granted, { code }, now) => {
  const shown = await showProof(granted, code, now);
  return shown.ok ? ok(HERE) : shown;
});
