import "server-only";
import { REGIONS, type Region } from "@/lib/domain/curve/region";
import type { Variation } from "@/lib/domain/setup/exercise";
import { say } from "@/lib/messages/say";

const regionWord = (region: Region): string => say("exercise")("pattern.region", { region });

/** Which backs a rule is for: "A thoracic curve and a lumbar curve, thoracic and lumbar to opposite sides; no other curve." */
export function ruleWords({ when, opposite }: Pick<Variation, "when" | "opposite">): string {
  const t = say("exercises");
  const curves = REGIONS.filter((region) => when[region] === "curve").map((region) => t("rule.curve", { region: regionWord(region) }));
  const pairs = opposite.map(([one, other]) => t("rule.opposite", { one: regionWord(one), other: regionWord(other) }));
  return t("rule.for", { curves: curves.join(t("rule.and")), pairs: pairs.map((pair) => `, ${pair}`).join("") });
}
