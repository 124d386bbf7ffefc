import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { Stack } from "@/app/ui/stack";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { isWell } from "@/lib/domain/backup/standing";
import { formatDateTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import { upkeepOf } from "@/lib/records/upkeep";

/** For the practice lead: whether what is here would survive this machine. */
export async function UpkeepPart({ actor, zone, now }: { readonly actor: Actor; readonly zone: string; readonly now: number }) {
  const t = say("backups");
  const { trial, triedAt, standing, madeAt, check, isDiskLow } = await upkeepOf(await grant(actor, "practice.settings", null), now);
  return (
    <section>
      <Heading level={2}>{t("title")}</Heading>
      <Stack gap="small">
        <p>{madeAt === null ? t("never") : t("last", { when: formatDateTime(madeAt, zone) })}</p>
        {isWell(standing) ? <p>{t(`standing.${standing}`)}</p> : <Notice kind="problem">{t(`standing.${standing}`)}</Notice>}
        {madeAt === null ? null : trial === "good" && triedAt !== null ? <p>{t("tried.good", { when: formatDateTime(triedAt, zone) })}</p> : <Notice kind="caution">{t(`tried.${trial === "never" ? "never" : "old"}`)}</Notice>}
        {isDiskLow ? <Notice kind="problem">{t("diskLow")}</Notice> : null}
        {check && check.findings > 0 ? <Notice kind="problem">{t("checkFound", { when: formatDateTime(check.at, zone), n: check.findings })}</Notice> : null}
      </Stack>
    </section>
  );
}
