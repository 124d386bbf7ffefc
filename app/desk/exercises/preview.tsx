import { SetupPicture } from "@/app/desk/children/[childId]/setup/setup-picture";
import { patternWords } from "@/app/desk/exercises/words";
import { Heading } from "@/app/ui/heading";
import { Notice } from "@/app/ui/notice";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import { Stack } from "@/app/ui/stack";
import type { Exercise } from "@/lib/domain/setup/exercise";
import { resolveAll } from "@/lib/domain/setup/resolve-all";
import { ruleWords } from "@/lib/messages/rule-words";
import { say } from "@/lib/messages/say";

/** So many patterns are read at a glance; more are folded. */
const FEW = 12;

/** An exercise on all 256 patterns: each set-up drawn and in words, and everything refused with its reason. */
export function Preview({ exercise, itemTitle }: { readonly exercise: Exercise; readonly itemTitle: (key: string) => string }) {
  const t = say("exercises");
  const words = say("exercise");
  const { covered, refused } = resolveAll(exercise);
  const count = (coverage: string) => covered.filter((row) => row.coverage === coverage).flatMap((row) => row.setups).reduce((sum, each) => sum + each.patterns.length, 0);
  return (
    <Stack>
      <p>{t("preview.lead", { covered: count("covered"), adapted: count("adapted"), refused: refused.reduce((sum, row) => sum + row.patterns.length, 0) })}</p>
      {exercise.variations.map((rule, at) => {
        const row = covered.find((each) => each.variation === rule.key);
        const n = at + 1;
        if (!row) return <Notice key={rule.key} kind="caution">{t("preview.unused", { n })}</Notice>;
        const items = row.setups[0]?.resolution.items ?? [];
        return (
          <section key={rule.key}>
            <Stack>
              <Heading level={3} lead={ruleWords(rule)}>{t("rule.heading", { n, coverage: words(`coverage.${row.coverage}`) })}</Heading>
              {row.setups.map(({ resolution, patterns }) => (
                <Stack gap="small" key={patterns.map(patternWords).join()}>
                  <p><strong>{t("preview.for", { patterns: patterns.map(patternWords).join("; ") })}</strong></p>
                  <SetupPicture resolution={resolution} apexSpot="" />
                </Stack>
              ))}
              <p>{items.map((item) => `${itemTitle(item.key)}${item.isStop ? ` (${t("item.stop")})` : ""}`).join(" · ")}</p>
            </Stack>
          </section>
        );
      })}
      <Heading level={3}>{t("preview.refused")}</Heading>
      <RuledList label={t("preview.refused")}>
        {refused.map(({ reasons, patterns }) => (
          <RuledRow key={reasons.join()}>
            <p>{t("preview.refusedRow", { n: patterns.length, reasons: reasons.map((reason) => words(`coverage.${reason}`)).join(" ") })}</p>
            {patterns.length > FEW ? (
              <details>
                <summary>{t("preview.which")}</summary>
                <p>{patterns.map(patternWords).join("; ")}</p>
              </details>
            ) : <p>{patterns.map(patternWords).join("; ")}</p>}
          </RuledRow>
        ))}
      </RuledList>
    </Stack>
  );
}
