"use server";

import { z } from "zod";
import { action } from "@/lib/access/action";
import { isStaff } from "@/lib/access/actor";
import { ok, refuse } from "@/lib/domain/result";
import { minutesOf } from "@/lib/domain/time/spans";
import { choose } from "@/lib/records/notice-choices";
import { endPhone } from "@/lib/records/push-phones";

const time = z.union([z.literal(""), z.string().regex(/^([01]\d|2[0-3]):[0-5]\d$/)]);
const isOn = z.enum(["on", "off"]);
const Choices = z.strictObject({ news: isOn, reminders: isOn, newsPush: isOn, remindersPush: isOn, from: time, until: time, timeZone: z.string().max(60) });

export const chooseNoticesAction = action("notices.choose", Choices, async (granted, { news, reminders, newsPush, remindersPush, from, until, timeZone }, now) => {
  if ((from === "") !== (until === "")) return refuse("quiet-hours-half", { field: from === "" ? "from" : "until" });
  const chosen = await choose(granted, {
    isOn: { mail: { news: news === "on", reminders: reminders === "on" }, push: { news: newsPush === "on", reminders: remindersPush === "on" } },
    quiet: from === "" ? null : { from: minutesOf(from), until: minutesOf(until) },
    timeZone: timeZone === "" ? null : timeZone,
  }, now);
  return chosen.ok ? ok({}) : chosen;
});

const Which = z.strictObject({ phone: z.union([z.literal("all"), z.uuid()]) });

export const endPhoneAction = action("notices.choose", Which, async (granted, { phone }, now) => {
  const ended = await endPhone(granted, phone, now);
  return ended.ok ? ok({ goTo: isStaff(granted.actor.role) ? "/desk/mail" : "/family/account/mail" }) : ended;
});
