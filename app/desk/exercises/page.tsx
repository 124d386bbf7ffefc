import Link from "next/link";
import { ButtonLink } from "@/app/ui/button";
import { Heading } from "@/app/ui/heading";
import { Caution } from "@/app/ui/notice";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import { Row, Stack } from "@/app/ui/stack";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { say } from "@/lib/messages/say";
import { exerciseRows, type ExerciseRow } from "@/lib/records/exercise-library";

/** What the practice teaches: the shipped exercises and its own. */
export default async function ExercisesPage() {
  const t = say("exercises");
  const rows = await exerciseRows(await grant(await signedIn(), "exercise.read", null));
  return (
    <Stack gap="large">
      <Heading level={1} lead={t("lead")}>{t("title")}</Heading>
      <Caution>{t("caution")}</Caution>
      <Row><ButtonLink href="/desk/exercises/new">{t("new")}</ButtonLink></Row>
      <RuledList label={t("list")}>{rows.map((row) => <RuledRow key={row.key}><One row={row} /></RuledRow>)}</RuledList>
    </Stack>
  );
}

function One({ row }: { readonly row: ExerciseRow }) {
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
      {row.isInHand ? <p>{t("inHand")}. <Link href={`${base}/edit`} prefetch={false}>{t("goOn")}</Link></p> : null}
    </Stack>
  );
}
