import { openHandler } from "@/lib/access/handler";
import { endSession } from "@/lib/access/session";

/** Ends the session in the database and has the browser drop what it kept of it. */
export const POST = openHandler(async () => {
  await endSession(Date.now());
  return new Response(null, {
    status: 303,
    headers: { Location: "/sign-in", "Clear-Site-Data": '"cache", "storage"', "Cache-Control": "private, no-store" },
  });
});
