import "server-only";
import { headers } from "next/headers";
import { notFound, redirect } from "next/navigation";
import type { z } from "zod";
import { isStaff } from "@/lib/access/actor";
import { fieldsOf, typedIn } from "@/lib/access/form-fields";
import { grant, type GrantOf } from "@/lib/access/grant";
import { isOwnOrigin } from "@/lib/access/origin";
import { currentActor, readerNow, signedIn } from "@/lib/access/session";
import { isProofEnough, POLICY, type Ability } from "@/lib/domain/policy/policy";
import { refuse, type Problem, type Result } from "@/lib/domain/result";
import type { Reader } from "@/lib/domain/words/reader";
import { storageRefusal } from "@/lib/media/space";
import { refusalSaid } from "@/lib/messages/refusal";

/** What a form shows after it was sent: the problem in words and what was typed, or that it is done. */
export type FormState = {
  readonly problem: Problem | null;
  readonly said: string;
  readonly typed: Readonly<Record<string, string>>;
  readonly isDone: boolean;
};
export const FRESH: FormState = { problem: null, said: "", typed: {}, isDone: false };

/** Where to go next; without it the page shows its own form as done. */
export type Done = { readonly goTo?: string };

const ONCE = /^[0-9a-f-]{36}$/;

/**
 * The only maker of server actions: origin, session, grant, proof and form, in that order, then the act.
 * The form names its `childId` or `familyId` as the ability's scope asks; all else is parsed strictly.
 */
export function action<A extends Ability, S extends z.ZodType>(
  ability: A,
  schema: S,
  run: (grant: GrantOf<A>, input: z.output<S>, now: number) => Promise<Result<Done>>,
): (state: unknown, form: FormData) => Promise<FormState> {
  return async (_state, form) => {
    const sent = await headers();
    if (!isOwnOrigin(sent)) notFound();
    // A form with scripts is told where it stands, and keeps what was typed; one without is led to sign-in.
    const actor = sent.has("next-action") ? await currentActor() : await signedIn();
    if (!actor) return refused({ code: "signed-out" }, await readerNow(), form);
    const scope = POLICY[ability].scope;
    const once = text(form, "once");
    const granted = await grant(
      actor, ability,
      scope === "child" ? text(form, "childId") : scope === "family" ? text(form, "familyId") : null,
      once !== null && ONCE.test(once) ? once : null,
    );
    const result: Result<Done> = !isProofEnough(actor.provedAt, ability, Date.now()) ? refuse(isStaff(actor.role) ? "proof-old" : "mail-proof-old")
      : granted.once === null ? refuse("form-invalid") : await parsedAndRun(granted, form);
    if (!result.ok) return refused(result.problem, actor.reader, form);
    if (result.value.goTo) redirect(result.value.goTo);
    return { ...FRESH, isDone: true };
  };

  async function parsedAndRun(granted: GrantOf<A>, form: FormData): Promise<Result<Done>> {
    const parsed = schema.safeParse(fieldsOf(form));
    if (parsed.success) return run(granted, parsed.data, Date.now()).catch(refusedWithoutStorage);
    const field = parsed.error.issues[0]?.path[0];
    return refuse("form-invalid", typeof field === "string" ? { field } : {});
  }
}

/** A disk without room, or a bucket that does not answer, is nothing a person can have caused: told as a refusal, with what they typed still there. */
export function refusedWithoutStorage(error: unknown): Result<never> {
  const code = storageRefusal(error);
  if (code) return refuse(code);
  throw error;
}

/** The words are found here, so that no page can forget those of a refusal. */
export const refused = (problem: Problem, reader: Reader, form: FormData): FormState => ({ problem, said: refusalSaid(problem, reader), typed: typedIn(form), isDone: false });

function text(form: FormData, name: string): string | null {
  const value = form.get(name);
  return typeof value === "string" && value !== "" ? value : null;
}
