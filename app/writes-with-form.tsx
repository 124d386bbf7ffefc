import type { ReactNode } from "react";
import { ActionForm, type FormOutcome } from "@/app/ui/action-form";
import { Choice } from "@/app/ui/choice";
import { SubmitButton } from "@/app/ui/submit-button";
import type { Reader } from "@/lib/domain/words/reader";
import { say } from "@/lib/messages/say";
import type { WritesWith } from "@/lib/records/writes-with";

/** Asks a family or staff which hand a child writes with; nothing is chosen before somebody said it. */
export function WritesWithForm({ action, childId, child, said, reader, children }: {
  readonly action: (state: FormOutcome, form: FormData) => Promise<FormOutcome>;
  readonly childId: string;
  readonly child: string;
  readonly said: WritesWith;
  readonly reader: Reader;
  readonly children?: ReactNode;
}) {
  const t = say("care", reader);
  const title = t("hand.title", { child });
  const chosen = said.isAsked ? said.hand ?? "none" : undefined;
  return (
    <ActionForm action={action} once={crypto.randomUUID()} childId={childId} label={title}>
      <input type="hidden" name="version" value={said.version} />
      {children}
      <Choice legend={title} name="hand" hint={t("hand.why", { child })} required defaultValue={chosen}
        options={(["left", "right", "none"] as const).map((value) => ({ value, label: t(`hand.${value}`) }))} />
      <SubmitButton kind="quiet" pending={t("hand.saving")}>{t("hand.save")}</SubmitButton>
    </ActionForm>
  );
}
