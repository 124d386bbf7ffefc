"use server";

import { z } from "zod";
import { action } from "@/lib/access/action";
import { ok, refuse } from "@/lib/domain/result";
import { afterButton, draftOf } from "@/lib/domain/setup/exercise-fields";
import { TITLE_LENGTH } from "@/lib/domain/setup/exercise-words.schema";
import {
  bringBackExercise, dropExercise, exerciseInHand, keepExercise, retireExercise, saveExercise, startExercise,
} from "@/lib/records/exercise-writing";

const exerciseKey = z.string().regex(/^[a-z0-9-]{1,64}$/);
const address = (key: string) => `/desk/exercises/${key}`;

export const startExerciseAction = action(
  "exercise.write",
  z.strictObject({ title: z.string().trim().min(3).max(TITLE_LENGTH), from: z.string().max(64) }),
  async (granted, { title, from }, now) => {
    const started = await startExercise(granted, { title, from: from === "blank" ? null : from }, now);
    return started.ok ? ok({ goTo: `${address(started.value.key)}/edit` }) : started;
  },
);

const Own = z.object({
  exerciseKey,
  basedOn: z.coerce.number().int().min(0),
  draftVersion: z.coerce.number().int().min(0),
  newest: z.coerce.number().int().min(0),
  button: z.string().max(100),
  sure: z.literal("yes").optional(),
});
/** Names of fields depend on the exercise; every value is read by `draftOf` and checked there. */
const Fields = z.record(z.string().regex(/^[a-zA-Z0-9.:+-]{1,200}$/), z.string().max(4000).transform((text) => text.replaceAll("\r\n", "\n")));

/**
 * Every button of the editor. What stands in the form is kept first, whatever comes of the button. A version is
 * saved only from a form that the preview above the button was made of.
 */
export const writeExerciseAction = action("exercise.write", Fields, async (granted, sent, now) => {
  const own = Own.safeParse(sent);
  if (!own.success) return refuse("form-invalid");
  const { exerciseKey: key, basedOn, draftVersion, newest, button, sure } = own.data;
  const before = await exerciseInHand(granted, key);
  const { sure: _sure, ...fields } = sent;
  const kept = await keepExercise(granted, key, {
    fields: afterButton(fields, button), basedOn: button === "rebase" ? newest : basedOn, draftVersion,
  }, now);
  if (!kept.ok) return kept;
  const back = (said: string, anchor: string) => ok({ goTo: `${address(key)}/edit?at=${kept.value.draftVersion}&${said}#${anchor}` });
  const told = (code: string) => back(`told=${code}`, "told");
  if (button !== "save") return back(`after=${encodeURIComponent(button)}`, anchorAfter(button));
  const isAsShown = before !== null && JSON.stringify(draftOf(before.fields)) === JSON.stringify(draftOf(fields));
  if (!isAsShown) return told("exercise-changed");
  if (sure !== "yes") return told("exercise-unchecked");
  const saved = await saveExercise(granted, key, kept.value.draftVersion, now);
  return saved.ok ? ok({ goTo: `${address(key)}?saved=${saved.value.version}` }) : told(saved.problem.code);
});

/** The part of the page a button is about. */
const anchorAfter = (button: string): string =>
  button.startsWith("item-add") ? "items-end" : button.startsWith("rule-add") ? "rules-end" : button.includes("-remove") ? button.slice(0, 4) + "s"
  : button.includes(":") ? button.replace(/^(\w+)-\w+:/, "$1-") : "preview";

export const dropExerciseAction = action("exercise.write", z.strictObject({ exerciseKey, sure: z.literal("yes") }), async (granted, input, now) => {
  const dropped = await dropExercise(granted, input.exerciseKey, now);
  return dropped.ok ? ok({ goTo: "/desk/exercises" }) : dropped;
});

export const retireExerciseAction = action("exercise.write", z.strictObject({ exerciseKey }), async (granted, input, now) => {
  const retired = await retireExercise(granted, input.exerciseKey, now);
  return retired.ok ? ok({ goTo: address(input.exerciseKey) }) : retired;
});

export const bringBackExerciseAction = action("exercise.write", z.strictObject({ exerciseKey }), async (granted, input, now) => {
  const back = await bringBackExercise(granted, input.exerciseKey, now);
  return back.ok ? ok({ goTo: address(input.exerciseKey) }) : back;
});
