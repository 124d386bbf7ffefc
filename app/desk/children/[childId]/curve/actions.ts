"use server";

import { z } from "zod";
import { draftOf, saidOf } from "@/app/desk/children/[childId]/curve/draft";
import { action } from "@/lib/access/action";
import { ok } from "@/lib/domain/result";
import { recordCurve } from "@/lib/records/curve-records";

// The names of acknowledgements depend on the record; every value is read by `draftOf` and `saidOf` and checked there.
const Fields = z.record(z.string().regex(/^[a-zA-Z:-]{1,80}$/), z.string().max(2000));

export const recordCurveAction = action("curve-record.write", Fields, async (granted, fields, now) => {
  const recorded = await recordCurve(granted, {
    draft: draftOf(fields), said: saidOf(fields), note: (fields["note"] ?? "").trim(), basedOn: fields["basedOn"] ? fields["basedOn"] : null,
  }, now);
  return recorded.ok ? ok({ goTo: `/desk/children/${granted.childId}` }) : recorded;
});
