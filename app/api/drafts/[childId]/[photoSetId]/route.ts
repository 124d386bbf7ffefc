import { z } from "zod";
import { handler, json, problemResponse } from "@/lib/access/handler";
import { refuse } from "@/lib/domain/result";
import { AnswerDraft, draftOf, saveDraft } from "@/lib/records/drafts";

const Body = z.strictObject({ fields: AnswerDraft, version: z.int().min(0) });
const BYTES = 1_500_000;

/** Keeps what one therapist has typed, chosen and drawn so far. A stale version is 409 with the stored one, and changes nothing. */
export const PUT = handler("answer.write", async (granted, request, params, now) => {
  if (Number(request.headers.get("content-length") ?? BYTES + 1) > BYTES) return problemResponse(refuse("form-invalid").problem, 413);
  const body = Body.safeParse(await request.json().catch(() => null));
  if (!body.success) return problemResponse(refuse("form-invalid").problem, 400);
  const saved = await saveDraft(granted, params["photoSetId"] ?? "", body.data, now);
  if (saved.ok) return json(saved.value);
  if (saved.problem.code !== "stale-version") return problemResponse(saved.problem);
  const stored = await draftOf(granted, params["photoSetId"] ?? "");
  return json({ problem: saved.problem, version: stored?.version ?? 0, fields: stored?.fields ?? {} }, 409);
});
