import Link from "next/link";
import { notFound } from "next/navigation";
import { bringBackExerciseAction, retireExerciseAction } from "@/app/desk/exercises/actions";
import { Facts } from "@/app/desk/exercises/facts";
import { Preview } from "@/app/desk/exercises/preview";
import { ActionForm } from "@/app/ui/action-form";
import { ButtonLink } from "@/app/ui/button";
import { Heading } from "@/app/ui/heading";
import { Caution, Notice } from "@/app/ui/notice";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import { Row, Stack } from "@/app/ui/stack";
import { SubmitButton } from "@/app/ui/submit-button";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { formatDateTime } from "@/lib/domain/time/format";
import { say } from "@/lib/messages/say";
import { exerciseShown, type ExerciseShown } from "@/lib/records/exercise-library";
import { exerciseInHand } from "@/lib/records/exercise-writing";

type Props = {
  readonly params: Promise<{ readonly exerciseKey: string }>;
  readonly searchParams: Promise<{ readonly version?: string | string[]; readonly saved?: string | string[] }>;
};

/** One exercise to read: what it asks, on every pattern, its versions and who has it. */
export default async function ExercisePage({ params, searchParams }: Props) {
  const t = say("exercises");
  const actor = await signedIn();
  const { exerciseKey } = await params;
  const { version, saved } = await searchParams;
  const number = typeof version === "string" && /^[1-9]\d{0,5}$/.test(version) ? Number(version) : null;
  const shown = await exerciseShown(await grant(actor, "exercise.read", null), exerciseKey, number);
  if (!shown) notFound();
  const inHand = await exerciseInHand(await grant(actor, "exercise.write", null), exerciseKey);
  const { exercise, names, newest } = shown;
  return (
    <Stack gap="large">
      <Link href="/desk/exercises" prefetch={false}>{t("show.back")}</Link>
      <Heading level={1} lead={`${shown.isBuiltIn ? t("shipped") : t("own")}, ${t("version", { n: exercise.version })}.`}>{names.title}</Heading>
      {saved === String(newest) ? <Notice kind="done">{t("show.saved", { n: newest })}</Notice> : null}
      {exercise.version < newest ? <Notice kind="caution">{t("show.older", { n: exercise.version, newest })}</Notice> : null}
      {shown.isRetired ? <Notice kind="info">{t("retired")}</Notice> : null}
      <Caution>{t("caution")}</Caution>
      {inHand && inHand.draftVersion > 0 ? <Notice kind="info">{t("show.inHand")}</Notice> : null}
      <Row>
        {shown.isBuiltIn ? null : <ButtonLink href={`/desk/exercises/${exerciseKey}/edit`}>{inHand && inHand.draftVersion > 0 ? t("goOn") : t("show.edit")}</ButtonLink>}
        <ButtonLink kind="quiet" href={`/desk/exercises/new?from=${exerciseKey}`}>{t("show.copy")}</ButtonLink>
        <ButtonLink kind="quiet" href={`/desk/cues?exercise=${exerciseKey}`}>{say("cues")("ofExercise")}</ButtonLink>
        <ButtonLink kind="quiet" href={`/desk/exercises/${exerciseKey}/translation`}>{t("translation.link")}</ButtonLink>
      </Row>
      <section>
        <Stack>
          <Heading level={2}>{t("show.what")}</Heading>
          <Facts exercise={exercise} names={names} />
        </Stack>
      </section>
      <section>
        <Heading level={2}>{t("preview.title")}</Heading>
        <Preview exercise={exercise} itemTitle={names.itemTitle} />
      </section>
      <Has shown={shown} />
      <History shown={shown} exerciseKey={exerciseKey} zone={actor.timeZone} />
      <ActionForm action={shown.isRetired ? bringBackExerciseAction : retireExerciseAction} once={crypto.randomUUID()}>
        <input type="hidden" name="exerciseKey" value={exerciseKey} />
        {shown.isRetired ? null : <p>{t("show.retireWhat")}</p>}
        <SubmitButton kind="quiet" pending={t("show.retiring")}>{shown.isRetired ? t("show.bringBack") : t("show.retire")}</SubmitButton>
      </ActionForm>
    </Stack>
  );
}

function Has({ shown: { children, newest } }: { readonly shown: ExerciseShown }) {
  const t = say("exercises");
  return (
    <section>
      <Heading level={2}>{t("show.has")}</Heading>
      {children.length === 0 ? <p>{t("show.hasNone")}</p> : (
        <RuledList label={t("show.has")}>
          {children.map((child) => (
            <RuledRow key={child.childId}>
              <Link href={`/desk/children/${child.childId}/setup`} prefetch={false}>
                {t(child.version < newest ? "show.hasOlder" : "show.hasOne", { child: child.childName, n: child.version })}
              </Link>
            </RuledRow>
          ))}
        </RuledList>
      )}
    </section>
  );
}

function History({ shown, exerciseKey, zone }: { readonly shown: ExerciseShown; readonly exerciseKey: string; readonly zone: string }) {
  const t = say("exercises");
  if (shown.history.length === 0) return null;
  return (
    <section>
      <Heading level={2}>{t("show.history")}</Heading>
      <RuledList label={t("show.history")}>
        {shown.history.map((each) => (
          <RuledRow key={each.version}>
            <p>
              <Link href={`/desk/exercises/${exerciseKey}?version=${each.version}`} prefetch={false}>{t("show.read", { n: each.version })}</Link>
              {each.version === shown.newest ? ` (${t("show.newest")})` : ""}: {each.title}. {t("show.written", { who: each.by, when: formatDateTime(each.at, zone) })}.
            </p>
          </RuledRow>
        ))}
      </RuledList>
    </section>
  );
}
