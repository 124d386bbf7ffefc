"use client";

import { FINDINGS } from "@/app/desk/children/[childId]/curve/draft";
import { Choice } from "@/app/ui/choice";
import { Field, TextArea } from "@/app/ui/field";
import { Stack } from "@/app/ui/stack";
import { FILM_VIEWS, PROMINENCES, SOURCES } from "@/lib/domain/curve/record";
import { REGIONS } from "@/lib/domain/curve/region";

/** Everything that is entered once. Nothing is preselected; `field` is the one the server objected to. */
export function EntryFields({ words, field }: { readonly words: Readonly<Record<string, string>>; readonly field: string | null }) {
  const w = (key: string) => words[key] ?? key;
  const options = (list: string, values: readonly string[]) => values.map((value) => ({ value, label: w(`${list}.${value}`) }));
  const wrong = (name: string) => (field === name ? w("lookHere") : undefined);
  return (
    <Stack>
      <Choice legend={w("source")} name="source" error={wrong("source")} options={options("sourceIs", SOURCES)} />
      <Choice legend={w("film")} hint={w("filmHint")} name="film" error={wrong("filmViewedFrom")} options={options("filmIs", FILM_VIEWS)} />
      <Field label={w("assessedOn")} name="assessedOn" type="date" error={wrong("assessedOn")} />
      <Field label={w("reassessBy")} name="reassessBy" type="date" error={wrong("reassessBy")} />
      {REGIONS.map((region) => (
        <Stack key={region} gap="small">
          <Choice legend={w(`regionIs.${region}`)} name={`${region}-is`} error={wrong(region) ?? wrong("regions")} options={options("isIs", FINDINGS)} />
          <Field label={`${w(`regionIs.${region}`)}: ${w("apex")}`} name={`${region}-apex`} autoComplete="off" maxLength={12} />
          <Field label={`${w(`regionIs.${region}`)}: ${w("cobb")}`} name={`${region}-cobb`} inputMode="decimal" autoComplete="off" maxLength={6} />
        </Stack>
      ))}
      <Choice legend={w("ribs")} name="ribs" error={wrong("ribs")} options={options("seenIs", PROMINENCES)} />
      <Choice legend={w("lowBack")} name="lowBack" error={wrong("lowBack")} options={options("seenIs", PROMINENCES)} />
      <TextArea label={w("note")} name="note" maxLength={2000} />
    </Stack>
  );
}
