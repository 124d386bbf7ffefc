import "server-only";
import { and, eq, isNotNull, isNull } from "drizzle-orm";
import { database } from "@/db/client";
import { careLinks } from "@/db/schema/care";
import { people } from "@/db/schema/practice";
import type { ChildGrant, SelfGrant } from "@/lib/access/grant";
import { ok, type Result } from "@/lib/domain/result";
import { isLocale, type Locale } from "@/lib/domain/words/reader";
import { act } from "@/lib/records/act";

/** What the person reads here from now on, pages and mails alike. */
export async function chooseLanguage(grant: SelfGrant<"language.choose">, language: Locale, now: number): Promise<Result<null>> {
  const { personId } = grant.actor;
  return act(grant, "language.chosen", now, (tx) => {
    tx.update(people).set({ language }).where(eq(people.id, personId)).run();
    return ok({ objectId: personId, value: null });
  });
}

export type CarerLanguage = { readonly name: string; readonly language: Locale };

/** Who cares for the child and has chosen another language than the desk's, so that what they read can be written for them. */
export async function languagesOf(grant: ChildGrant<"child.read" | "answer.write">): Promise<readonly CarerLanguage[]> {
  const rows = database().select({ name: people.name, language: people.language }).from(careLinks).innerJoin(people, eq(people.id, careLinks.personId))
    .where(and(
      eq(careLinks.childId, grant.childId), eq(careLinks.familyId, grant.familyId), isNull(careLinks.endedAt), isNull(people.disabledAt), isNotNull(people.language),
    )).orderBy(people.name).all();
  return rows.flatMap(({ name, language }) => (isLocale(language) && language !== "en" ? [{ name, language }] : []));
}
