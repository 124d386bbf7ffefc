import { z } from "zod";
import { handler, json, problemResponse } from "@/lib/access/handler";
import { READ_BACK_QUESTIONS } from "@/lib/domain/answering/read-back";
import { refuse } from "@/lib/domain/result";
import { answerReadBack } from "@/lib/records/read-backs";

const BYTES = 2_000;
const Body = z.strictObject({ stopId: z.string().max(64), exerciseKey: z.string().max(64), question: z.enum(READ_BACK_QUESTIONS), choice: z.string().max(20) });

/** An answer to a stop that a phone kept while it had no signal; a wrong one comes too, for the therapist to know. */
export const POST = handler("read-back.answer", async (granted, request, _params, now) => {
  if (Number(request.headers.get("content-length") ?? BYTES + 1) > BYTES) return problemResponse(refuse("form-invalid").problem, 413);
  const body = Body.safeParse(await request.json().catch(() => null));
  if (!body.success || granted.once === null) return problemResponse(refuse("form-invalid").problem, 400);
  const answered = await answerReadBack(granted, body.data, now);
  return answered.ok ? json({ done: true }) : problemResponse(answered.problem);
});
