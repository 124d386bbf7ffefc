import { isReady } from "@/lib/access/readiness";
import { json, openHandler } from "@/lib/access/handler";

/** For whoever sends requests here: whether what a family sends now could be kept. Nothing else is said. */
export const GET = openHandler(async () => {
  const ok = await isReady();
  return json({ ok }, ok ? 200 : 503);
});
