import Link from "next/link";
import { WhenFields } from "@/app/desk/erasures/when-fields";
import { eraseFamilyAction } from "@/app/desk/families/[familyId]/erase/actions";
import { ActionForm } from "@/app/ui/action-form";
import { Heading } from "@/app/ui/heading";
import { Caution } from "@/app/ui/notice";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { say } from "@/lib/messages/say";
import { familyOf } from "@/lib/records/families";

/** A family with all its children, erased in seven days or now. For the lead. */
export default async function EraseFamilyPage({ params }: { readonly params: Promise<{ readonly familyId: string }> }) {
  const t = say("erasures");
  const actor = await signedIn();
  const { familyId } = await params;
  await grant(actor, "family.erase", familyId);
  const family = await familyOf(await grant(actor, "family.read", familyId));
  const names = family.children.map((child) => child.givenName).join(", ");
  return (
    <Stack gap="large">
      <Link href={`/desk/families/${familyId}`} prefetch={false}>{t("toChild", { child: family.name })}</Link>
      <Heading level={1} lead={names === "" ? t("family.nobody") : t("family.who", { children: names })}>{t("family.title", { family: family.name })}</Heading>
      <p>{t("child.goes")}</p>
      <p>{t("child.stays")}</p>
      <Caution>{t("child.law")}</Caution>
      <ActionForm action={eraseFamilyAction} once={crypto.randomUUID()} familyId={familyId} label={t("family.title", { family: family.name })}>
        <WhenFields nameLabel={t("family.typeName", { family: family.name })} />
        <SubmitButton pending={t("erasing")}>{t("family.do", { family: family.name })}</SubmitButton>
      </ActionForm>
    </Stack>
  );
}
