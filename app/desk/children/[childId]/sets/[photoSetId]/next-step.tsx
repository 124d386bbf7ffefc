"use client";

import styles from "@/app/desk/children/[childId]/sets/[photoSetId]/next-step.module.css";
import { useOutcome } from "@/app/ui/action-form";
import { Chip } from "@/app/ui/chip";
import { Unseen } from "@/app/ui/unseen";

type Option = { readonly value: string; readonly label: string };

/** What follows. */
export function NextStep({ legend, steps, saved }: { readonly legend: string; readonly steps: readonly Option[]; readonly saved: string | undefined }) {
  const outcome = useOutcome();
  const chosen = outcome.problem ? outcome.typed["nextStep"] : saved;
  return (
    <fieldset className={styles.group}>
      <legend className={styles.legend}><Unseen whenWide>{legend}</Unseen></legend>
      <div className={styles.steps}>
        {steps.map((step) => (
          <Chip key={step.value} name="nextStep" value={step.value} required isChosen={step.value === chosen}>{step.label}</Chip>
        ))}
      </div>
    </fieldset>
  );
}

/** From where a new photo is wanted; stands there while one is. */
export function NextView({ label, views, saved }: { readonly label: string; readonly views: readonly Option[]; readonly saved: string | undefined }) {
  const outcome = useOutcome();
  const chosen = (outcome.problem ? outcome.typed["nextView"] : saved) ?? "any";
  return (
    <label className={styles.view}>
      <span>{label}</span>
      <select key={chosen} name="nextView" defaultValue={chosen}>
        {views.map((each) => <option key={each.value} value={each.value}>{each.label}</option>)}
      </select>
    </label>
  );
}
