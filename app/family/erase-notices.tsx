import { Fragment } from "react";
import { ButtonLink } from "@/app/ui/button";
import { Notice } from "@/app/ui/notice";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { formatDate } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import { erasuresOf } from "@/lib/records/erasures";
import { childrenOf } from "@/lib/records/families";
import { expiryOf } from "@/lib/records/retention";

/** What will be gone for good before long: asked for by somebody, or by age. */
export async function EraseNotices({ actor, now }: { readonly actor: Actor; readonly now: number }) {
  const t = say("erasing", actor.reader);
  const each = await Promise.all((await childrenOf(actor)).map(async ({ childId, givenName: child, reach }) => {
    const reading = await grant(actor, "child.read", childId);
    return { childId, child, reach, waiting: await erasuresOf(reading), expiry: await expiryOf(reading, now) };
  }));
  return (
    <>
      {each.map(({ childId, child, reach, waiting, expiry }) => (
        <Fragment key={childId}>
          {waiting.length > 0 ? (
            <Notice kind="caution">
              <p>{t("askedAbout", { child })}</p>
              {reach === "decide" ? <ButtonLink kind="quiet" href={`/family/erase/${childId}`}>{t("look")}</ButtonLink> : null}
            </Notice>
          ) : null}
          {expiry.soonest === null ? null : <Notice kind="info">{t("soon", { child, date: formatDate(expiry.soonest, actor.timeZone, actor.reader.locale) })}</Notice>}
        </Fragment>
      ))}
    </>
  );
}
