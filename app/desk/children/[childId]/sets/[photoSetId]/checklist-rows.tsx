import type { ReactNode } from "react";
import styles from "@/app/desk/children/[childId]/sets/[photoSetId]/checklist.module.css";
import { ItemRow, RestRow } from "@/app/desk/children/[childId]/sets/[photoSetId]/item-row";
import { offeredCues, savedOf } from "@/app/desk/children/[childId]/sets/[photoSetId]/offered-cues";
import { cuesAddress, readingWords } from "@/app/desk/cues/words";
import { Heading } from "@/app/ui/heading";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import type { ChecklistRow } from "@/lib/domain/answering/checklist";
import type { LedgerRow } from "@/lib/domain/ledger/ledger";
import type { SetupSides } from "@/lib/domain/setup/setup-sides";
import { VERDICTS } from "@/lib/domain/setup/vocabulary";
import { say } from "@/lib/messages/say";
import { libraryOf } from "@/lib/records/cues";
import type { ExerciseNames } from "@/lib/records/exercise-names";

/** Letters no tool and no act of the desk uses. */
const LETTERS = "bcdefhijkquyz";
/** So many verdicts before stand beside an item. */
const PAST = 4;

/** The items as ruled rows of a real form: what was found before, four verdicts each, its cues with the sides filled in. */
export async function ChecklistRows({ actor, exerciseKey, rows, ledger, names, setup, fields, keys }: {
  readonly actor: Actor;
  readonly exerciseKey: string;
  readonly rows: readonly ChecklistRow[];
  readonly ledger: readonly LedgerRow[];
  readonly names: ExerciseNames;
  readonly setup: SetupSides;
  readonly fields: Readonly<Record<string, string>>;
  /** The key sheet, on a page whose keys work. */
  readonly keys?: ReactNode;
}) {
  const t = say("desk");
  // Before the library is read: what changes from here on was not read by whoever chooses.
  const cuesReadAt = Date.now();
  const library = await libraryOf(await grant(actor, "cues.read", null), exerciseKey, cuesReadAt);
  const words = { cue: t("answering.cue"), cueNone: say("cues")("field.none"), own: t("answering.words"), library: say("cues")("field.library"), missing: t("answering.missing"), reading: readingWords() };
  const past = (itemKey: string) => {
    const verdicts = (ledger.find((row) => row.itemKey === itemKey)?.entries ?? []).slice(-PAST).map((entry) => entry.verdict);
    return { verdicts, words: t("answering.before", { verdicts: verdicts.map((verdict) => t(`answering.verdict.${verdict}`)).join(", ") }) };
  };
  return (
    <section className={styles.list}>
      <div className={styles.title}><Heading level={2}>{t("answering.checklist")}</Heading>{keys}</div>
      <input type="hidden" name="cuesReadAt" value={cuesReadAt} />
      {rows.map(({ item, isAsked }, at) => (
        <ItemRow
          key={item.key} itemKey={item.key} title={names.itemTitle(item.key)} isStop={item.isStop} isAsked={isAsked}
          letter={keys ? LETTERS[at] : undefined} past={past(item.key)}
          kind={item.isStop ? t("answering.stopItem") : isAsked ? "" : t("answering.offered")}
          verdicts={VERDICTS.filter((verdict) => !(item.isStop && verdict === "not-part")).map((verdict) => ({ value: verdict, label: t(`answering.verdict.${verdict}`) }))}
          cues={offeredCues(library, item.key, setup, fields[`cue.${item.key}`])} libraryHref={cuesAddress(exerciseKey, item.key)}
          saved={savedOf(library, item.key, fields)} words={words}
        />
      ))}
      <RestRow hasKeys={keys !== undefined} saved={fields["rest"] === "yes"} title={t("answering.rest")} what={t("answering.restWhat")} />
    </section>
  );
}
