import { codeAction } from "@/app/(open)/sign-in/actions";
import { ActionForm } from "@/app/ui/action-form";
import { Field } from "@/app/ui/field";
import { SubmitButton } from "@/app/ui/submit-button";
import type { Reader } from "@/lib/domain/words/reader";
import { say } from "@/lib/messages/say";

/** Eight digits; the address too, where this browser asked for nothing. */
export function CodeForm({ needsAddress, reader }: { readonly needsAddress: boolean; readonly reader: Reader }) {
  const t = say("auth", reader);
  return (
    <ActionForm action={codeAction} once={crypto.randomUUID()} label={t("code.title")}>
      {needsAddress ? <Field label={t("signIn.email")} name="email" type="email" autoComplete="email" inputMode="email" required maxLength={254} /> : null}
      <Field label={t("code.code")} name="code" hint={t("code.codeHint")} autoComplete="one-time-code" inputMode="numeric" required maxLength={40} />
      <SubmitButton pending={t("code.going")}>{t("code.go")}</SubmitButton>
    </ActionForm>
  );
}
