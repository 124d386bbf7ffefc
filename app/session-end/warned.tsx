import { SessionEnd } from "@/app/session-end/session-end";
import type { Actor } from "@/lib/access/actor";
import { endingHere } from "@/lib/access/session";
import { say } from "@/lib/messages/say";

/** The warning before a sign-in ends, on every page of whoever is signed in. */
export async function Warned({ actor }: { readonly actor: Actor }) {
  const t = say("ending", actor.reader);
  const words = {
    soon: t("soon"), now: t("now"), over: t("over"), ended: t("ended"), other: t("other"), stay: t("stay"), keys: t("keys"), signIn: t("signIn"), signedIn: t("signedIn"), reload: t("reload"), lost: t("lost"),
  };
  return <SessionEnd personId={actor.personId} first={await endingHere(actor.personId, Date.now())} words={words} />;
}
