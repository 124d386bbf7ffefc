import { Choice } from "@/app/ui/choice";
import { Field } from "@/app/ui/field";
import { say } from "@/lib/messages/say";

/** When, and the name once more, before a child or a family is erased. */
export function WhenFields({ nameLabel }: { readonly nameLabel: string }) {
  const t = say("erasures");
  return (
    <>
      <Choice legend={t("child.when")} name="when" required options={[{ value: "later", label: t("child.later") }, { value: "now", label: t("child.atOnce") }]} />
      <Field label={nameLabel} name="typedName" required maxLength={80} autoComplete="off" />
    </>
  );
}
