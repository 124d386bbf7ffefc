import { z } from "zod";
import { clearCookie, readCookie, setCookie } from "@/lib/access/cookies";
import { handler, json, problemResponse } from "@/lib/access/handler";
import { deviceOf } from "@/lib/domain/notices/device";
import { refuse } from "@/lib/domain/result";
import { addPhone, endPhone } from "@/lib/records/push-phones";

const BYTES = 4_000;
/** As long as a browser keeps one (RFC 6265bis, 5.5). */
const COOKIE_LIFE_MS = 400 * 86_400_000;

/** A subscription as a browser writes it (W3C Push API), and whether the browser renewed it by itself. */
const Body = z.object({
  endpoint: z.string().max(2_000),
  keys: z.object({ p256dh: z.string().regex(/^[\w-]{87}$/), auth: z.string().regex(/^[\w-]{22}$/) }),
  isRenewal: z.boolean().default(false),
});

/** Pushes to the browser that asks, which a cookie names from then on: signing out there ends it, and so does whoever else signs in. */
export const POST = handler("notices.choose", async (granted, request, _params, now) => {
  if (Number(request.headers.get("content-length") ?? BYTES + 1) > BYTES) return problemResponse(refuse("form-invalid").problem, 413);
  const body = Body.safeParse(await request.json().catch(() => null));
  if (!body.success) return problemResponse(refuse("form-invalid").problem, 400);
  const { endpoint, keys, isRenewal } = body.data;
  const device = deviceOf(request.headers.get("user-agent") ?? "");
  const added = await addPhone(granted, { address: { endpoint, ...keys }, device, before: await readCookie("phone"), isRenewal }, now);
  if (!added.ok) return problemResponse(added.problem);
  await setCookie("phone", added.value.id, COOKIE_LIFE_MS);
  return json({ done: true });
});

/** No more pushes to the browser that asks. */
export const DELETE = handler("notices.choose", async (granted, _request, _params, now) => {
  const phone = await readCookie("phone");
  if (phone) await endPhone(granted, phone, now);
  await clearCookie("phone");
  return json({ done: true });
});
