import type { Metadata } from "next";
import { joinAction, joinFirstAction } from "@/app/(open)/join/actions";
import { ActionForm } from "@/app/ui/action-form";
import { Field, SelectField } from "@/app/ui/field";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { isStaff } from "@/lib/access/actor";
import { invitedBy } from "@/lib/access/invitation";
import { readerNow } from "@/lib/access/session";
import { zoneNames } from "@/lib/domain/time/zone";
import { say } from "@/lib/messages/say";

export const metadata: Metadata = { title: "Trueside" };

/** Opening an invitation uses nothing up; the press does. */
export default async function JoinPage({ searchParams }: { readonly searchParams: Promise<{ readonly key?: string | string[] }> }) {
  const reader = await readerNow();
  const t = say("auth", reader);
  const { key } = await searchParams;
  const invited = typeof key === "string" ? invitedBy(key, Date.now()) : null;
  if (typeof key !== "string" || !invited) {
    return (
      <Stack gap="large">
        <Heading level={1}>{t("join.spentTitle")}</Heading>
        <Notice kind="problem">{say("problems", reader)("link-spent")}</Notice>
      </Stack>
    );
  }
  const hidden = <input type="hidden" name="key" value={key} />;
  const press = <SubmitButton pending={t("join.going")}>{t("join.go")}</SubmitButton>;
  if (invited.needsDetails) {
    return (
      <Stack gap="large">
        <Heading level={1} lead={t("join.leadFirst")}>{t("join.titlePlain")}</Heading>
        <ActionForm action={joinFirstAction} once={crypto.randomUUID()}>
          {hidden}
          <Field label={t("join.name")} name="name" autoComplete="name" required maxLength={80} />
          <Field label={t("join.email")} name="email" hint={t("join.emailHint")} type="email" autoComplete="email" inputMode="email" required maxLength={254} />
          <Field label={t("join.practice")} name="practiceName" autoComplete="organization" required maxLength={80} />
          <SelectField label={t("join.zone")} name="timeZone" required options={[{ value: "", label: t("join.zoneChoose") }, ...zoneNames().map((name) => ({ value: name, label: name }))]} />
          {press}
        </ActionForm>
      </Stack>
    );
  }
  return (
    <Stack gap="large">
      <Heading level={1} lead={t(isStaff(invited.role) ? "join.leadStaff" : "join.leadFamily")}>{t("join.title", { practice: invited.practiceName })}</Heading>
      <ActionForm action={joinAction} once={crypto.randomUUID()}>{hidden}{press}</ActionForm>
    </Stack>
  );
}
