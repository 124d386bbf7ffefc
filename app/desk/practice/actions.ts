"use server";

import { z } from "zod";
import { promisesOf, spansOf, weekOf } from "@/app/desk/practice/hours";
import { action } from "@/lib/access/action";
import { RETENTION_MONTHS } from "@/lib/domain/retention/retention";
import { ok, refuse } from "@/lib/domain/result";
import { LocalDateSchema } from "@/lib/domain/time/working-week.schema";
import { isZone } from "@/lib/domain/time/zone";
import { FAMILY_MEGABYTES } from "@/lib/domain/upkeep/family-storage";
import { PhoneNumber } from "@/lib/domain/words/phone-number.schema";
import { addOpening, removeOpening } from "@/lib/records/extra-openings";
import { addClosure, removeClosure, setHours, setPractice } from "@/lib/records/practice";

const Hours = z.record(z.string().regex(/^(day-[1-7]|(photo|question|symptom)Hours)$/), z.string().max(200));

export const setHoursAction = action("practice.settings", Hours, async (granted, fields, now) => {
  const week = weekOf(fields);
  const promiseMinutes = promisesOf(fields);
  if (week === null || promiseMinutes === null) return refuse("form-invalid");
  const set = await setHours(granted, { week, promiseMinutes }, now);
  return set.ok ? ok({ goTo: "/desk/practice" }) : set;
});

const Settings = z.strictObject({
  name: z.string().trim().min(1).max(80),
  timeZone: z.string().refine(isZone),
  phone: PhoneNumber,
  photoWeeks: z.coerce.number().int().min(1).max(52),
  readBackHours: z.coerce.number().int().min(1).max(168),
  retentionMonths: z.coerce.number().int().min(RETENTION_MONTHS.least).max(RETENTION_MONTHS.most),
  familyMegabytes: z.coerce.number().int().min(FAMILY_MEGABYTES.least).max(FAMILY_MEGABYTES.most),
  ownSignInAge: z.coerce.number().int().min(10).max(21),
  adultAge: z.coerce.number().int().min(14).max(21),
  version: z.coerce.number().int(),
});

export const setPracticeAction = action("practice.settings", Settings, async (granted, input, now) => {
  const set = await setPractice(granted, input, now);
  return set.ok ? ok({ goTo: "/desk/practice" }) : set;
});

const Closure = z.strictObject({ day: LocalDateSchema, label: z.string().trim().min(1).max(80) });

export const addClosureAction = action("practice.settings", Closure, async (granted, input, now) => {
  const added = await addClosure(granted, input, now);
  return added.ok ? ok({ goTo: "/desk/practice" }) : added;
});

export const removeClosureAction = action("practice.settings", z.strictObject({ id: z.string().max(60) }), async (granted, { id }, now) => {
  const removed = await removeClosure(granted, id, now);
  return removed.ok ? ok({ goTo: "/desk/practice" }) : removed;
});

const Opening = z.strictObject({ day: LocalDateSchema, spans: z.string().max(200) });

export const addOpeningAction = action("practice.settings", Opening, async (granted, { day, spans: typed }, now) => {
  const spans = spansOf(typed);
  if (spans === null) return refuse("form-invalid", { field: "spans" });
  const added = await addOpening(granted, { day, spans }, now);
  return added.ok ? ok({ goTo: "/desk/practice" }) : added;
});

export const removeOpeningAction = action("practice.settings", z.strictObject({ id: z.string().max(60) }), async (granted, { id }, now) => {
  const removed = await removeOpening(granted, id, now);
  return removed.ok ? ok({ goTo: "/desk/practice" }) : removed;
});
