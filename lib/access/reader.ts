import "server-only";
import { headers } from "next/headers";
import { readCookie } from "@/lib/access/cookies";
import { isLocale, localeAccepted, type Locale, type Reader } from "@/lib/domain/words/reader";

/** What a browser asks for while nobody has chosen for good: its own choice here, else what it says it reads. */
export async function localeAsked(): Promise<Locale> {
  const chosen = await readCookie("language");
  return isLocale(chosen) ? chosen : localeAccepted((await headers()).get("accept-language") ?? "");
}

/** Somebody nobody knows yet. */
export const strangerReader = async (): Promise<Reader> => ({ locale: await localeAsked(), voice: "carer" });
