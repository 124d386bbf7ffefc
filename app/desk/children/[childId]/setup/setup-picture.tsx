import { setupLabel, setupSentences } from "@/app/desk/families/words";
import { RuledList, RuledRow } from "@/app/ui/ruled";
import { SetupSchematic } from "@/app/ui/schematic/setup-schematic";
import { Columns } from "@/app/ui/stack";
import type { CoveredResolution } from "@/lib/domain/setup/resolve";
import { say } from "@/lib/messages/say";

/** A set-up drawn and in sentences; both say the same sides. */
export function SetupPicture({ resolution, apexSpot }: { readonly resolution: CoveredResolution; readonly apexSpot: string }) {
  return (
    <Columns>
      <SetupSchematic {...resolution.setup} label={setupLabel(resolution)} />
      <RuledList>
        {setupSentences(resolution).map((sentence) => <RuledRow key={sentence}>{sentence}</RuledRow>)}
        {apexSpot ? <RuledRow>{say("exercise")("setup.apexSpot", { spot: apexSpot })}</RuledRow> : null}
      </RuledList>
    </Columns>
  );
}
