import type { Metadata } from "next";
import { FamilyFrame } from "@/app/family/frame";
import { askToComeAction } from "@/app/family/session/actions";
import { ActionForm } from "@/app/ui/action-form";
import { ButtonLink } from "@/app/ui/button";
import { EmptyState } from "@/app/ui/empty-state";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import { Said } from "@/app/ui/said";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import { readerNow, signedIn } from "@/lib/access/session";
import { formatDateTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import { childrenOf, type OwnChild } from "@/lib/records/families";
import { practiceFor } from "@/lib/records/family-home";
import { invitedTo } from "@/lib/records/session-invitations";
import { joinChoice } from "@/lib/records/session-places";

export const generateMetadata = async (): Promise<Metadata> => ({ title: say("joining", await readerNow())("title") });

/** Behind a session invitation: when it is, and for each child whether it may come. Opening it asks for nothing; the press does. */
export default async function Page({ searchParams }: { readonly searchParams: Promise<{ readonly key?: string | string[] }> }) {
  const actor = await signedIn();
  const t = say("joining", actor.reader);
  const { key } = await searchParams;
  const now = Date.now();
  const invited = typeof key === "string" ? await invitedTo(actor, key, now) : null;
  const own = await childrenOf(actor);
  const back = <div><ButtonLink href="/family" kind="quiet">{say("family", actor.reader)("shell.today")}</ButtonLink></div>;
  if (typeof key !== "string" || !invited) {
    return (
      <FamilyFrame>
        <Heading level={1}>{t("spentTitle")}</Heading>
        <Notice kind="problem">{say("problems", actor.reader)("session-link")}</Notice>
        {back}
      </FamilyFrame>
    );
  }
  return (
    <FamilyFrame>
      <Heading level={1} lead={t("lead", { practice: practiceFor(actor).name })}>{t("titleOn", { when: formatDateTime(invited.startsAt, actor.timeZone, actor.reader.locale) })}</Heading>
      {own.length === 0 ? <EmptyState title={say("family", actor.reader)("noChild")}><p>{say("family", actor.reader)("noChildWhat")}</p></EmptyState> : (
        <RuledList label={t("title")}>
          {own.map((child) => <RuledRow key={child.childId}><Choice actor={actor} child={child} sessionKey={key} now={now} /></RuledRow>)}
        </RuledList>
      )}
      {back}
    </FamilyFrame>
  );
}

/** One child: the press that asks, what was said about it, or why the session is not for it. */
async function Choice({ actor, child: { childId, givenName: child }, sessionKey, now }: { readonly actor: Actor; readonly child: OwnChild; readonly sessionKey: string; readonly now: number }) {
  const t = say("joining", actor.reader);
  const choice = await joinChoice(await grant(actor, "session.join", childId), sessionKey, now);
  if (!choice) return null;
  if (choice.fit !== "fits") return <Notice kind="caution">{t(`misfit.${choice.fit}`, { child })}</Notice>;
  return (
    <Stack gap="small">
      <p><Said words={t("exercise", { exercise: choice.exercise.title })} part={choice.exercise.title} lang={choice.exercise.lang} /></p>
      {choice.place === "none" ? (
        <ActionForm action={askToComeAction} once={crypto.randomUUID()} childId={childId} label={t("ask", { child })}>
          <input type="hidden" name="key" value={sessionKey} />
          <SubmitButton pending={t("asking")}>{t("ask", { child })}</SubmitButton>
        </ActionForm>
      ) : <Notice kind={choice.place === "declined" ? "info" : "done"}>{t(`place.${choice.place ?? "waiting"}`, { child })}</Notice>}
    </Stack>
  );
}
