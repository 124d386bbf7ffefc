import { Notice } from "@/app/ui/notice";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { formatDateTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import { restoredLately } from "@/lib/records/upkeep";

/** After a restore a stop may be missing that everybody remembers: said where the day's work begins. */
export async function RestoredNotice({ actor, zone, now }: { readonly actor: Actor; readonly zone: string; readonly now: number }) {
  const restored = await restoredLately(await grant(actor, "practice.read", null), now);
  if (!restored) return null;
  const t = say("backups");
  return <Notice kind="problem" title={t("restoredTitle")}>{t("restored", { at: formatDateTime(restored.at, zone), takenAt: formatDateTime(restored.takenAt, zone) })}</Notice>;
}
