"use server";

import { z } from "zod";
import { action } from "@/lib/access/action";
import { isStaff } from "@/lib/access/actor";
import { ok } from "@/lib/domain/result";
import { askForExport } from "@/lib/records/exports";

export const askForExportAction = action("export.ask", z.strictObject({}), async (granted, _input, now) => {
  const asked = await askForExport(granted, now);
  const { actor, childId } = granted;
  return asked.ok ? ok({ goTo: isStaff(actor.role) ? `/desk/children/${childId}/export` : `/family/export/${childId}` }) : asked;
});
