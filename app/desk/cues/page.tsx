import Link from "next/link";
import { CueRow, RetiredCue } from "@/app/desk/cues/cue-row";
import styles from "@/app/desk/cues/cues.module.css";
import { EditPart } from "@/app/desk/cues/edit-part";
import { ButtonLink } from "@/app/ui/button";
import { EmptyState } from "@/app/ui/empty-state";
import { Heading } from "@/app/ui/heading";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import { Row, Stack } from "@/app/ui/stack";
import { grant } from "@/lib/access/grant";
import { signedIn } from "@/lib/access/session";
import { cueAbout } from "@/lib/domain/words/cue";
import { say } from "@/lib/messages/say";
import { openLibrary } from "@/lib/records/cues";
import { practiceOf } from "@/lib/records/practice";
import { untranslatedOf } from "@/lib/records/translations";

/** `cue`: the one in hand. `item`: a new one for it. */
type Search = Promise<{ readonly exercise?: string | string[]; readonly item?: string | string[]; readonly cue?: string | string[] }>;

/** The practice's cues of one exercise, item by item. Works without scripts. */
export default async function CuesPage({ searchParams }: { readonly searchParams: Search }) {
  const t = say("cues");
  const actor = await signedIn();
  const reading = await grant(actor, "cues.read", null);
  const wanted = await searchParams;
  const now = Date.now();
  const { timeZone: zone } = await practiceOf(await grant(actor, "practice.read", null), now);
  const { exercise, names, exercises, cues } = await openLibrary(reading, typeof wanted.exercise === "string" ? wanted.exercise : undefined, now);
  const { key } = exercise;
  const missing = await untranslatedOf(reading, key, now);
  const without = (cueId: string) => missing.filter(({ abouts }) => abouts.includes(cueAbout(key, cueId))).map(({ language }) => ({
    language, href: `/desk/exercises/${key}/translation?${new URLSearchParams({ language, text: cueAbout(key, cueId) })}#in-hand`,
  }));
  const address = (field: "item" | "cue", value: string, itemKey: string) =>
    `/desk/cues?${new URLSearchParams({ exercise: key, [field]: value })}#item-${itemKey}`;
  return (
    <Stack gap="large">
      <Link href="/desk/practice" prefetch={false}>{t("toPractice")}</Link>
      <Heading level={1} lead={t("lead")}>{`${t("title")}: ${names.title}`}</Heading>
      <Link href={`/desk/exercises/${key}/translation`} prefetch={false}>{say("exercises")("translation.link")}</Link>
      {exercises.length > 1 ? (
        <nav aria-label={t("exercises")}>
          <Row>
            {exercises.map((each) => (
              <ButtonLink key={each.key} kind={each.key === key ? "primary" : "quiet"} href={`/desk/cues?${new URLSearchParams({ exercise: each.key })}`}>{each.title}</ButtonLink>
            ))}
          </Row>
        </nav>
      ) : null}
      {exercise.items.map(({ key: itemKey }) => {
        const title = names.itemTitle(itemKey);
        const ofItem = cues.filter((cue) => cue.itemKey === itemKey);
        const [offered, retired] = [ofItem.filter((cue) => !cue.isRetired), ofItem.filter((cue) => cue.isRetired)];
        return (
          <section key={itemKey} id={`item-${itemKey}`} aria-label={title}>
            <Stack gap="small">
              <Heading level={2}>{title}</Heading>
              {offered.length === 0 ? <EmptyState title={t("empty")}><p>{t("emptyWhat")}</p></EmptyState> : (
                <RuledList label={title}>
                  {offered.map((cue) => (
                    <RuledRow key={cue.id}>
                      {cue.id === wanted.cue ? <EditPart exercise={exercise} itemKey={itemKey} itemTitle={title} cue={cue} />
                        : <CueRow cue={cue} href={address("cue", cue.id, itemKey)} without={without(cue.id)} zone={zone} />}
                    </RuledRow>
                  ))}
                </RuledList>
              )}
              {wanted.item === itemKey ? <EditPart exercise={exercise} itemKey={itemKey} itemTitle={title} cue={null} />
                : <Link href={address("item", itemKey, itemKey)} prefetch={false} className={styles.add} aria-label={t("addOf", { item: title })}>{t("add")}</Link>}
              {retired.length > 0 ? (
                <details>
                  <summary>{t("retired", { n: retired.length })}</summary>
                  <RuledList>{retired.map((cue) => <RuledRow key={cue.id}><RetiredCue cue={cue} exerciseKey={key} /></RuledRow>)}</RuledList>
                </details>
              ) : null}
            </Stack>
          </section>
        );
      })}
    </Stack>
  );
}
