import styles from "@/app/desk/children/[childId]/sets/[photoSetId]/answering.module.css";
import { Heading } from "@/app/ui/heading";
import type { ChecklistRow } from "@/lib/domain/answering/checklist";
import type { SetupSides } from "@/lib/domain/setup/setup-sides";
import { VERDICTS } from "@/lib/domain/setup/vocabulary";
import { fillCue } from "@/lib/domain/words/cue";
import { say } from "@/lib/messages/say";
import { starterCues } from "@/lib/messages/starter-cues";

/** The items as ruled rows of a real form: four verdicts each, its cues with the sides filled in, and own words. */
export function ChecklistRows({ rows, setup, fields }: {
  readonly rows: readonly ChecklistRow[];
  readonly setup: SetupSides;
  readonly fields: Readonly<Record<string, string>>;
}) {
  const t = say("desk");
  const exercise = say("exercise");
  const side = say("common");
  return (
    <section>
      <Heading level={2}>{t("answering.checklist")}</Heading>
      {rows.map(({ item, isAsked }) => {
        const cues = starterCues(item.key).flatMap((cue) => {
          const filled = fillCue(cue, setup, (each) => side("side", { side: each }));
          return filled.ok ? [filled.value] : [];
        });
        const title = exercise(`items.${item.key}.title`);
        return (
          <fieldset key={item.key} className={styles.item} data-item={item.key} data-stop={item.isStop ? "" : undefined} data-asked={isAsked ? "" : undefined}>
            <legend className={styles.legend}>
              {title} <span className={styles.kind}>{item.isStop ? t("answering.stopItem") : isAsked ? t("answering.asked") : t("answering.offered")}</span>
            </legend>
            <div className={styles.verdicts}>
              {VERDICTS.filter((verdict) => !(item.isStop && verdict === "not-part")).map((verdict) => (
                <label key={verdict} className={styles.verdict}>
                  <input type="radio" name={`verdict.${item.key}`} value={verdict} defaultChecked={fields[`verdict.${item.key}`] === verdict} />
                  <span>{t(`answering.verdict.${verdict}`)}</span>
                </label>
              ))}
            </div>
            <div className={styles.fix}>
              <label className={styles.cue}>
                <span>{t("answering.cue")}</span>
                <select name={`cue.${item.key}`} defaultValue={fields[`cue.${item.key}`] ?? cues[0] ?? ""}>
                  <option value="">{t("answering.cueNone")}</option>
                  {cues.map((cue) => <option key={cue} value={cue}>{cue}</option>)}
                </select>
              </label>
              <label className={styles.cue}>
                <span>{t("answering.words")}</span>
                <input type="text" name={`words.${item.key}`} maxLength={300} defaultValue={fields[`words.${item.key}`]} />
              </label>
            </div>
          </fieldset>
        );
      })}
      <label className={styles.rest}>
        <input type="checkbox" name="rest" value="yes" defaultChecked={fields["rest"] === "yes"} />
        <span><strong>{t("answering.rest")}</strong> {t("answering.restWhat")}</span>
      </label>
    </section>
  );
}
