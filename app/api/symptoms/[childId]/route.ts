import { z } from "zod";
import { handler, json, problemResponse } from "@/lib/access/handler";
import { refuse } from "@/lib/domain/result";
import { MOST_WAITED_MS } from "@/lib/domain/sending/waited";
import { SYMPTOM_KEYS } from "@/lib/domain/symptoms/symptoms";
import { reportSymptoms } from "@/lib/records/symptoms";

const BYTES = 20_000;
const Body = z.strictObject({
  noticed: z.array(z.enum(SYMPTOM_KEYS)).max(SYMPTOM_KEYS.length), note: z.string().max(2000), photoSetId: z.uuid().nullable(),
  // What an older page kept on a phone does not say it.
  waitedMs: z.int().min(0).max(MOST_WAITED_MS).default(0),
});

/** What was noticed while a photo set is made, or without signal: it stops the child at once, before and whatever becomes of the photos. */
export const POST = handler("symptom.report", async (granted, request, _params, now) => {
  if (Number(request.headers.get("content-length") ?? BYTES + 1) > BYTES) return problemResponse(refuse("form-invalid").problem, 413);
  const body = Body.safeParse(await request.json().catch(() => null));
  if (!body.success || granted.once === null) return problemResponse(refuse("form-invalid").problem, 400);
  const reported = await reportSymptoms(granted, body.data, now);
  return reported.ok ? json({ done: true }) : problemResponse(reported.problem);
});
