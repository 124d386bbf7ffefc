import { ButtonLink } from "@/app/ui/button";
import { Notice } from "@/app/ui/notice";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { formatDateTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import { openBackQuestions } from "@/lib/records/back-question-reads";
import { childOf } from "@/lib/records/families";

/** What the therapist waits to hear about one child's photos. */
export async function AskedNotices({ childId, actor, now }: { readonly childId: string; readonly actor: Actor; readonly now: number }) {
  const t = say("questions", actor.reader);
  const reading = await grant(actor, "child.read", childId);
  const asked = await openBackQuestions(reading, now);
  if (asked.length === 0) return null;
  const { givenName: child } = await childOf(reading);
  return asked.map(({ photoSetId, sentAt, words }) => (
    <Notice key={photoSetId} kind="caution" title={t("back.open", { child, date: formatDateTime(sentAt, actor.timeZone, actor.reader.locale) })}>
      <p>“{words}”</p>
      <p>{t("back.waits")}</p>
      <ButtonLink href={`/family/asked/${childId}/${photoSetId}`}>{t("back.go")}</ButtonLink>
    </Notice>
  ));
}
