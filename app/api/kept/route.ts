import { keptFor } from "@/app/api/kept/kept-for";
import { handler, json } from "@/lib/access/handler";

/** "Before you start" of whoever asks, as data, for the phone that is to keep it. */
export const GET = handler("kept.read", async ({ actor }, _request, _params, now) => json(await keptFor(actor, now)));
