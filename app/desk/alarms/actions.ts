"use server";

import { z } from "zod";
import { action } from "@/lib/access/action";
import { ok } from "@/lib/domain/result";
import { seeToAlarm } from "@/lib/records/alarms";

export const seeToAlarmAction = action("alarms.see-to", z.strictObject({ alarmId: z.uuid() }), async (granted, { alarmId }, now) => {
  const seen = await seeToAlarm(granted, alarmId, now);
  return seen.ok ? ok({ goTo: "/desk/alarms" }) : seen;
});
