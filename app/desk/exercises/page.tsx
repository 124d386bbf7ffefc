import Link from "next/link";
import { ButtonLink } from "@/app/ui/button";
import { Heading } from "@/app/ui/heading";
import { Caution } from "@/app/ui/notice";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import { Row, Stack } from "@/app/ui/stack";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { LANGUAGE_NAMES } from "@/lib/domain/words/reader";
import { say } from "@/lib/messages/say";
import { exerciseRows, type ExerciseRow } from "@/lib/records/exercise-library";
import { untranslatedOf } from "@/lib/records/translations";

/** What the practice teaches: the shipped exercises and its own. */
export default async function ExercisesPage() {
  const t = say("exercises");
  const actor = await signedIn();
  const rows = await exerciseRows(await grant(actor, "exercise.read", null));
  const cues = await grant(actor, "cues.read", null);
  const now = Date.now();
  const missing = new Map(await Promise.all(rows.filter((row) => row.version > 0).map(async ({ key }) => [key, await untranslatedOf(cues, key, now)] as const)));
  return (
    <Stack gap="large">
      <Heading level={1} lead={t("lead")}>{t("title")}</Heading>
      <Caution>{t("caution")}</Caution>
      <Row><ButtonLink href="/desk/exercises/new">{t("new")}</ButtonLink></Row>
      <RuledList label={t("list")}>{rows.map((row) => <RuledRow key={row.key}><One row={row} missing={missing.get(row.key) ?? []} /></RuledRow>)}</RuledList>
    </Stack>
  );
}

function One({ row, missing }: { readonly row: ExerciseRow; readonly missing: Awaited<ReturnType<typeof untranslatedOf>> }) {
  const t = say("exercises");
  const base = `/desk/exercises/${row.key}`;
  const said = [
    row.isBuiltIn ? t("shipped") : t("own"), row.version === 0 ? t("notSaved") : t("version", { n: row.version }),
    ...(row.version === 0 ? [] : [t("whoHas", { n: row.children })]), ...(row.isRetired ? [t("retired")] : []),
  ];
  return (
    <Stack gap="small">
      <p><strong>{row.version === 0 ? row.title : <Link href={base} prefetch={false}>{row.title}</Link>}</strong></p>
      <p>{said.join(". ")}.</p>
      {missing.filter(({ abouts }) => abouts.length > 0).map(({ language, abouts }) => (
        <p key={language}><Link href={`${base}/translation?language=${language}`} prefetch={false}>{t("translation.missingIn", { n: abouts.length, language: LANGUAGE_NAMES[language] })}</Link></p>
      ))}
      {row.isInHand ? <p>{t("inHand")}. <Link href={`${base}/edit`} prefetch={false}>{t("goOn")}</Link></p> : null}
    </Stack>
  );
}
