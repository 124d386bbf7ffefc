import { openHandler } from "@/lib/access/handler";
import { endSession } from "@/lib/access/session";

/**
 * Ends the session in the database and has the browser drop what it kept of it. With `keep=unsent`, as a
 * person chose whose photos still wait on the phone, the page itself has cleared all but those.
 */
export const POST = openHandler(async (request) => {
  const isKept = (await request.formData().catch(() => null))?.get("keep") === "unsent";
  await endSession(Date.now());
  const cleared = isKept ? '"cache"' : '"cache", "storage"';
  return new Response(null, { status: 303, headers: { Location: "/sign-in", "Clear-Site-Data": cleared, "Cache-Control": "private, no-store" } });
});
