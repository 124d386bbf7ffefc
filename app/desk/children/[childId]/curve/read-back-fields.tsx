"use client";

import type { Fields } from "@/app/desk/children/[childId]/curve/draft";
import { CheckRow, Choice } from "@/app/ui/choice";
import { Stack } from "@/app/ui/stack";
import type { CurveRecordDraft } from "@/lib/domain/curve/check-record";
import { needsTherapistsWord } from "@/lib/domain/curve/record";
import { readApex, REGIONS } from "@/lib/domain/curve/region";
import { SIDES } from "@/lib/domain/sides";

/** Each curve's side, said again; for a film seen from the front the picture's side as well. */
export function ReadBackFields({ draft, words, typed }: {
  readonly draft: CurveRecordDraft;
  readonly words: Readonly<Record<string, string>>;
  readonly typed: Fields;
}) {
  const w = (key: string) => words[key] ?? key;
  return (
    <Stack>
      {REGIONS.flatMap((region) => {
        const finding = draft.regions[region];
        if (finding?.state !== "curve" || finding.convexSide === null) return [];
        const apex = readApex(finding.apex);
        const isUnsure = apex.ok && needsTherapistsWord({ ...finding, convexSide: finding.convexSide, apex: apex.value });
        return [
          <Stack key={region} gap="small">
            <Choice legend={`${w(`regionIs.${region}`)}: ${w("again")}`} name={`${region}-again`}
              options={SIDES.map((side) => ({ value: side, label: w(`isIs.${side}`) }))} />
            {draft.filmViewedFrom === "front" ? (
              <Choice legend={`${w(`regionIs.${region}`)}: ${w("picture")}`} name={`${region}-picture`}
                options={SIDES.map((side) => ({ value: side, label: w(`pictureIs.${side}`) }))} />
            ) : null}
            {isUnsure ? <CheckRow name={`${region}-counts`} label={`${w(`regionIs.${region}`)}: ${w("counts")}`} defaultChecked={typed[`${region}-counts`] === "yes"} /> : null}
          </Stack>,
        ];
      })}
    </Stack>
  );
}

/** What was said in the step before goes along unseen. */
export function SaidBefore({ typed }: { readonly typed: Fields }) {
  return REGIONS.flatMap((region) => [`${region}-again`, `${region}-picture`, `${region}-counts`]).flatMap((name) => {
    const value = typed[name];
    return value ? [<input key={name} type="hidden" name={name} value={value} />] : [];
  });
}
