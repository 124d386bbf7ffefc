"use server";

import { revalidatePath } from "next/cache";
import { z } from "zod";
import { action } from "@/lib/access/action";
import { setCookie } from "@/lib/access/cookies";
import { openAction } from "@/lib/access/open-action";
import { ok } from "@/lib/domain/result";
import { LOCALES } from "@/lib/domain/words/reader";
import { chooseLanguage } from "@/lib/records/language";

const YEAR_MS = 365 * 86_400_000;
const Chosen = z.strictObject({ language: z.enum(LOCALES) });

export const chooseLanguageAction = action("language.choose", Chosen, async (granted, { language }, now) => {
  const chosen = await chooseLanguage(granted, language, now);
  // The page's own frame names the language too, and would be kept from before.
  revalidatePath("/", "layout");
  return chosen.ok ? ok({ goTo: "/family/account" }) : chosen;
});

/** Kept in this browser until somebody signs in with it. */
export const askLanguageAction = openAction(Chosen, async ({ language }) => {
  await setCookie("language", language, YEAR_MS);
  return ok({});
});
