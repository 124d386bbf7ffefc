"use client";

import { useState } from "react";
import { individualOf, type Fields } from "@/app/desk/children/[childId]/setup/draft";
import { SetupSchematic, type SetupLabel } from "@/app/ui/schematic/setup-schematic";
import { useOutcome } from "@/app/ui/action-form";
import { CheckGroup, CheckRow, Choice } from "@/app/ui/choice";
import { Field, TextArea } from "@/app/ui/field";
import { Columns, Stack } from "@/app/ui/stack";
import { ACTIVATIONS, BREATHS, MOVEMENTS, PROP_KINDS, PROP_PLACES, TOP_ARM_POSITIONS } from "@/lib/domain/setup/exercise";
import { individualSides } from "@/lib/domain/setup/individual";
import { isPossible, type SetupSides } from "@/lib/domain/setup/setup-sides";
import { SIDES, type Side } from "@/lib/domain/sides";

/** Pickers for a set-up of the therapist's own, drawn as they are picked. Nothing is preselected. */
export function IndividualFields({ words, items, labels }: {
  readonly words: Readonly<Record<string, string>>;
  readonly items: readonly { readonly key: string; readonly title: string }[];
  /** The drawing's words by the side down. */
  readonly labels: Readonly<Record<Side, SetupLabel>>;
}) {
  const { typed } = useOutcome();
  const [live, setLive] = useState<Fields | null>(null);
  const w = (key: string) => words[key] ?? key;
  const options = (list: string, values: readonly string[]) => values.map((value) => ({ value, label: w(`${list}.${value}`) }));
  const setup = drawable(live ?? typed);
  return (
    <div onChange={(event) => {
      const form = event.currentTarget.closest("form");
      if (form) setLive(Object.fromEntries([...new FormData(form)].flatMap(([name, value]) => (typeof value === "string" ? [[name, value]] : []))));
    }}>
      <Columns>
        <Stack>
          <Choice legend={w("lieOn")} name="lieOn" options={options("sideIs", SIDES)} />
          <Choice legend={w("prop")} name="propKind" options={options("propIs", ["none", ...PROP_KINDS])} />
          <Choice legend={w("propSide")} name="propSide" options={options("sideIs", SIDES)} />
          <Choice legend={w("propPlace")} name="propPlace" options={options("placeIs", PROP_PLACES)} />
          <Choice legend={w("topArm")} name="topArm" options={options("armIs", TOP_ARM_POSITIONS)} />
          <p>{w("also")}</p>
          <Choice legend={w("breath")} name="breath" options={options("breathIs", BREATHS)} />
          <Choice legend={w("breatheInto")} name="breatheInto"
            options={[{ value: "none", label: w("breatheIntoIs.none") }, ...options("sideIs", SIDES)]} />
          <Choice legend={w("movement")} name="movement" options={options("movementIs", MOVEMENTS)} />
          <Choice legend={w("activation")} name="activation" options={options("activationIs", ["none", ...ACTIVATIONS])} />
          <CheckGroup legend={w("items")} hint={w("itemsHint")}>
            {items.map((item) => <CheckRow key={item.key} name={`item:${item.key}`} label={item.title} defaultChecked={typed[`item:${item.key}`] === "yes"} />)}
          </CheckGroup>
          <Field label={w("apexSpot")} hint={w("apexSpotHint")} name="apexSpot" maxLength={300} />
          <TextArea label={w("reason")} name="reason" maxLength={2000} />
        </Stack>
        <figure>
          <figcaption>{setup ? w("drawn") : w("impossible")}</figcaption>
          {setup ? <SetupSchematic {...setup} label={labels[setup.lieOn]} /> : null}
        </figure>
      </Columns>
      <Choice legend={w("chooseAgain")} name="lieOnAgain" options={options("sideIs", SIDES)} />
    </div>
  );
}

function drawable(fields: Fields): SetupSides | null {
  const draft = individualOf(fields);
  if (!draft || draft.lieOn === null) return null;
  const setup = individualSides(draft, draft.lieOn);
  return isPossible(setup) ? setup : null;
}
