"use client";

import type { Words } from "@/app/family/send/steps";
import { Notice } from "@/app/ui/notice";
import { Stack } from "@/app/ui/stack";
import type { SymptomTier } from "@/lib/domain/setup/go-ahead-facts";
import type { SymptomKey } from "@/lib/domain/symptoms/symptoms";

export type TierState = { readonly noticed: readonly SymptomKey[]; readonly isNone: boolean };
export type SymptomState = Readonly<Record<SymptomTier, TierState>>;
export type SymptomWords = Readonly<Record<SymptomTier, readonly { readonly key: SymptomKey; readonly label: string }[]>>;

export const UNANSWERED: SymptomState = { urgent: { noticed: [], isNone: false }, today: { noticed: [], isNone: false } };
export const isAnswered = (state: SymptomState): boolean =>
  [state.urgent, state.today].every(({ noticed, isNone }) => isNone !== noticed.length > 0);

/** Both tiers, each answered in so many words. Anything urgent shows the emergency sentence before all else. */
export function SymptomStep({ state, symptoms, words, emergency, onChange }: {
  readonly state: SymptomState;
  readonly symptoms: SymptomWords;
  readonly words: Words;
  readonly emergency: string;
  readonly onChange: (state: SymptomState) => void;
}) {
  const group = (tier: SymptomTier) => (
    <fieldset>
      <legend>{words[tier]}</legend>
      <Stack gap="small">
        {symptoms[tier].map(({ key, label }) => {
          const { noticed } = state[tier];
          const toggled = noticed.includes(key) ? noticed.filter((each) => each !== key) : [...noticed, key];
          return (
            <label key={key}>
              <input type="checkbox" checked={noticed.includes(key)} onChange={() => onChange({ ...state, [tier]: { noticed: toggled, isNone: false } })} /> {label}
            </label>
          );
        })}
        <label>
          <input type="checkbox" checked={state[tier].isNone} onChange={() => onChange({ ...state, [tier]: { noticed: [], isNone: !state[tier].isNone } })} /> {words["none"]}
        </label>
      </Stack>
    </fieldset>
  );
  return (
    <Stack>
      {state.urgent.noticed.length > 0 ? <Notice kind="stop" title={emergency}>{words["stopNow"]}</Notice> : null}
      {group("urgent")}
      {group("today")}
      {state.urgent.noticed.length === 0 && state.today.noticed.length > 0 ? <Notice kind="stop">{words["stopNow"]}</Notice> : null}
    </Stack>
  );
}
