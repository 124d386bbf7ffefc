import { ButtonLink } from "@/app/ui/button";
import { Notice } from "@/app/ui/notice";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { may } from "@/lib/domain/policy/policy";
import { say } from "@/lib/messages/say";
import { openAlarms } from "@/lib/records/alarms";

/** For the lead, where the day begins: something about the server waits for a person. */
export async function AlarmsNotice({ actor }: { readonly actor: Actor }) {
  if (!may(actor.role, "alarms.read")) return null;
  const n = await openAlarms(await grant(actor, "alarms.read", null));
  if (n === 0) return null;
  const t = say("alarms");
  return <Notice kind="problem"><p>{t("open", { n })}</p><ButtonLink href="/desk/alarms" kind="quiet">{t("title")}</ButtonLink></Notice>;
}
