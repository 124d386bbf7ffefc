import Link from "next/link";
import { returnCueAction } from "@/app/desk/cues/actions";
import styles from "@/app/desk/cues/cues.module.css";
import { readingWords } from "@/app/desk/cues/words";
import { ActionForm } from "@/app/ui/action-form";
import { ReadingFigure } from "@/app/ui/reading-grade";
import { SubmitButton } from "@/app/ui/submit-button";
import { formatDate } from "@/lib/domain/time/format";
import { cueParts } from "@/lib/domain/words/cue";
import { LANGUAGE_NAMES, type Locale } from "@/lib/domain/words/reader";
import { readingOf } from "@/lib/domain/words/reading-grade";
import { say } from "@/lib/messages/say";
import type { LibraryCue } from "@/lib/records/cues";

/** One cue that is offered: its words, how often it was chosen, and the way to change it. */
export function CueRow({ cue, href, without, zone }: {
  readonly cue: LibraryCue;
  readonly href: string;
  /** The languages that it has no words in, each with the way to write them. */
  readonly without: readonly { readonly language: Locale; readonly href: string }[];
  readonly zone: string;
}) {
  const t = say("cues");
  const reading = readingOf(cue.words);
  return (
    <div className={styles.cue}>
      <p className={styles.words}><CueWords words={cue.words} /></p>
      <div className={styles.note}>
        <p>{t("times", { n: cue.timesUsed })} · {stateWords(cue, zone)}</p>
        {without.map((each) => (
          <p key={each.language}><Link href={each.href} prefetch={false}>{say("exercises")("translation.noneIn", { language: LANGUAGE_NAMES[each.language] })}</Link></p>
        ))}
        {reading.kind === "judged" && reading.isHard ? <ReadingFigure reading={reading} words={readingWords()} /> : null}
      </div>
      <Link href={href} prefetch={false} className={styles.act} aria-label={t("changeOf", { words: cue.words })}>{t("change")}</Link>
    </div>
  );
}

/** One that is offered no more, and the way back. */
export function RetiredCue({ cue, exerciseKey }: { readonly cue: LibraryCue; readonly exerciseKey: string }) {
  const t = say("cues");
  return (
    <ActionForm action={returnCueAction} once={crypto.randomUUID()} label={t("returnOf", { words: cue.words })} problemWords={{ "cue-changed": t("retireStale") }}>
      <p className={styles.words}><CueWords words={cue.words} /></p>
      <CueRef cue={cue} exerciseKey={exerciseKey} />
      <input type="hidden" name="version" value={cue.version} />
      <SubmitButton kind="quiet" pending={t("saving")}>{t("return")}</SubmitButton>
    </ActionForm>
  );
}

/** Which cue a form is about. */
export function CueRef({ cue, exerciseKey }: { readonly cue: Pick<LibraryCue, "id" | "itemKey">; readonly exerciseKey: string }) {
  return (
    <>
      <input type="hidden" name="exerciseKey" value={exerciseKey} />
      <input type="hidden" name="itemKey" value={cue.itemKey} />
      <input type="hidden" name="id" value={cue.id} />
    </>
  );
}

function CueWords({ words }: { readonly words: string }) {
  const parts = cueParts(words);
  if (!parts.ok) return words;
  return parts.value.map((part, at) => (part.kind === "words" ? part.words : <em key={at} className={styles.side}>{`{${part.placeholder}}`}</em>));
}

function stateWords({ shipped, changedAt, changedBy }: LibraryCue, zone: string): string {
  const t = say("cues");
  if (changedAt === null) return t("asShipped");
  return t(shipped === null ? "written" : "changed", { date: formatDate(changedAt, zone), who: changedBy ?? "" });
}
