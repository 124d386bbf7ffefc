import Link from "next/link";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { say } from "@/lib/messages/say";
import { requestsWaiting } from "@/lib/records/group-sessions";

/** How many ask to come to a group session and have no word yet; nothing when nobody does. */
export async function RequestsLine({ actor }: { readonly actor: Actor }) {
  const n = await requestsWaiting(await grant(actor, "sessions.read", null));
  return n === 0 ? null : <p><Link href="/desk/sessions" prefetch={false}>{say("sessions")("requests", { n })}</Link></p>;
}
