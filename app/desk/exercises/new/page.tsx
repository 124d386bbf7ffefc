import Link from "next/link";
import { startExerciseAction } from "@/app/desk/exercises/actions";
import { ActionForm } from "@/app/ui/action-form";
import { Field, SelectField } from "@/app/ui/field";
import { Heading } from "@/app/ui/heading";
import { Caution } from "@/app/ui/notice";
import { Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { say } from "@/lib/messages/say";
import { exerciseRows } from "@/lib/records/exercise-library";

/** A title, and what to start from. */
export default async function NewExercisePage({ searchParams }: { readonly searchParams: Promise<{ readonly from?: string | string[] }> }) {
  const t = say("exercises");
  const actor = await signedIn();
  await grant(actor, "exercise.write", null);
  const rows = (await exerciseRows(await grant(actor, "exercise.read", null))).filter((row) => row.version > 0);
  const { from } = await searchParams;
  return (
    <Stack gap="large">
      <Link href="/desk/exercises" prefetch={false}>{t("show.back")}</Link>
      <Heading level={1} lead={t("start.lead")}>{t("start.title")}</Heading>
      <Caution>{t("caution")}</Caution>
      <ActionForm action={startExerciseAction} once={crypto.randomUUID()} label={t("start.title")}>
        <Field label={t("start.name")} hint={t("start.nameHint")} name="title" required maxLength={80} autoComplete="off" />
        <SelectField label={t("start.from")} name="from" defaultValue={rows.find((row) => row.key === from)?.key ?? "blank"} options={[
          { value: "blank", label: t("start.blank") }, ...rows.map((row) => ({ value: row.key, label: t("start.copyOf", { title: row.title }) })),
        ]} />
        <SubmitButton pending={t("start.going")}>{t("start.go")}</SubmitButton>
      </ActionForm>
    </Stack>
  );
}
