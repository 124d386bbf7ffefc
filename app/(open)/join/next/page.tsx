import { redirect } from "next/navigation";
import { isStaff } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { consentOf } from "@/lib/records/consents";
import { childrenOf } from "@/lib/records/families";

/** After joining: the consent of the next child nobody has decided about, for who may decide; then the first screen. */
export default async function NextPage() {
  const actor = await signedIn();
  if (isStaff(actor.role)) redirect("/desk");
  for (const { childId } of (await childrenOf(actor)).filter(({ reach }) => reach === "decide")) {
    const consents = await consentOf(await grant(actor, "child.read", childId), Date.now());
    if (consents.some(({ purpose, decision }) => purpose === "photos" && decision === null)) redirect(`/family/consent/${childId}`);
  }
  redirect("/family");
}
