import Link from "next/link";
import { eraseChildAction } from "@/app/desk/children/[childId]/erase/actions";
import { WhenFields } from "@/app/desk/erasures/when-fields";
import { ActionForm } from "@/app/ui/action-form";
import { Heading } from "@/app/ui/heading";
import { Caution, Notice } from "@/app/ui/notice";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { say } from "@/lib/messages/say";
import { childOf } from "@/lib/records/families";
import { standingsOf } from "@/lib/records/standing";

/** Everything about one child, erased in seven days or now. For the lead. */
export default async function EraseChildPage({ params }: { readonly params: Promise<{ readonly childId: string }> }) {
  const t = say("erasures");
  const actor = await signedIn();
  const { childId } = await params;
  await grant(actor, "erasure.settle", childId);
  const reading = await grant(actor, "child.read", childId);
  const child = await childOf(reading);
  const isStopped = (await standingsOf(reading, Date.now())).some(({ overall }) => overall === "stop");
  return (
    <Stack gap="large">
      <Link href={`/desk/children/${childId}`} prefetch={false}>{t("toChild", { child: child.givenName })}</Link>
      <Heading level={1} lead={child.familyName}>{t("child.title", { child: child.givenName })}</Heading>
      <p>{t("child.goes")}</p>
      <p>{t("child.stays")}</p>
      <Caution>{t("child.law")}</Caution>
      {isStopped ? <Notice kind="caution">{t("child.openStop")}</Notice> : null}
      <ActionForm action={eraseChildAction} once={crypto.randomUUID()} childId={childId} label={t("child.title", { child: child.givenName })}>
        <WhenFields nameLabel={t("child.typeName", { child: child.givenName })} />
        <SubmitButton pending={t("erasing")}>{t("child.do", { child: child.givenName })}</SubmitButton>
      </ActionForm>
    </Stack>
  );
}
