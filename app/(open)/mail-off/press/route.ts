import { oneClickHandler, openHandler } from "@/lib/access/handler";
import { switchOffByKey } from "@/lib/records/notice-choices";

/** The address in a mail's `List-Unsubscribe`: a mail program's server presses for the person (RFC 8058). */
export const POST = oneClickHandler(switchOffByKey);

/** A mail program that only opens the address gets the page with the button; opening changes nothing. */
export const GET = openHandler(async (request) =>
  new Response(null, { status: 303, headers: { Location: `/mail-off?key=${encodeURIComponent(new URL(request.url).searchParams.get("key") ?? "")}`, "Cache-Control": "private, no-store" } }));
