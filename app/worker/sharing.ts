import { keepShared } from "@/app/family/phone/shared-photos";
import { worker } from "@/app/worker/scope";
import { afterShare, SHARE_FIELD, SHARE_PATH } from "@/lib/domain/installed/shared";

/**
 * A share from the gallery, answered here: nothing of it goes to the server. Any site could post here as
 * well, since the share sheet brings no origin either; what comes waits on the phone, is shown, and goes
 * nowhere until somebody chooses it for a child.
 */
async function take(request: Request): Promise<Response> {
  const form = await request.formData().catch(() => null);
  const files = (form?.getAll(SHARE_FIELD) ?? []).filter((each) => each instanceof File);
  const shared = await keepShared(files, Date.now()).catch(() => "none" as const);
  return Response.redirect(new URL(afterShare(shared), worker.location.origin).href, 303);
}

/** A page elsewhere that says where it is has no business here; the share sheet says nothing. */
const isForeign = ({ referrer }: Request): boolean => referrer.startsWith("http") && new URL(referrer).origin !== worker.location.origin;

worker.addEventListener("fetch", (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  if (request.method !== "POST" || origin !== worker.location.origin || pathname !== SHARE_PATH || isForeign(request)) return;
  event.respondWith(take(request));
});
