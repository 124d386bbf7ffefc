import { handler, json, problemResponse } from "@/lib/access/handler";
import { claimSet } from "@/lib/records/claims";

/** Says, and goes on saying, that this therapist is answering; answers with whose claim holds. */
export const POST = handler("answer.write", async (granted, request, params, now) => {
  const takeOver = new URL(request.url).searchParams.get("take-over") === "yes";
  const claim = await claimSet(granted, params["photoSetId"] ?? "", takeOver, now);
  if (!claim.ok) return problemResponse(claim.problem, 409);
  return json({ isMine: claim.value.personId === granted.actor.personId, name: claim.value.name, lapsesAt: claim.value.lapsesAt });
});
