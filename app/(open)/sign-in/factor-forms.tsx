import { ActionForm, type FormOutcome } from "@/app/ui/action-form";
import { Field } from "@/app/ui/field";
import { SubmitButton } from "@/app/ui/submit-button";
import type { Reader } from "@/lib/domain/words/reader";
import { say } from "@/lib/messages/say";

type Props = { readonly action: (state: FormOutcome, form: FormData) => Promise<FormOutcome>; readonly reader: Reader };

/** The code that an authenticator app shows now. */
export function TotpForm({ action, reader }: Props) {
  const t = say("auth", reader);
  return (
    <ActionForm action={action} once={crypto.randomUUID()} label={t("second.totpTitle")}>
      <Field label={t("second.totpCode")} name="code" hint={t("second.totpHint")} autoComplete="one-time-code" inputMode="numeric" required maxLength={40} />
      <SubmitButton pending={t("second.going")}>{t("second.go")}</SubmitButton>
    </ActionForm>
  );
}

/** One code of the list on paper; folded away, since it is for the day when nothing else is at hand. */
export function RecoveryForm({ action, reader }: Props) {
  const t = say("auth", reader);
  return (
    <details>
      <summary>{t("second.recoverySummary")}</summary>
      <ActionForm action={action} once={crypto.randomUUID()} label={t("second.recoveryTitle")}>
        <Field label={t("second.recoveryCode")} name="code" hint={t("second.recoveryHint")} autoComplete="off" required maxLength={40} />
        <SubmitButton pending={t("second.going")}>{t("second.go")}</SubmitButton>
      </ActionForm>
    </details>
  );
}
