import "server-only";
import { headers } from "next/headers";
import { notFound, redirect } from "next/navigation";
import type { z } from "zod";
import { FRESH, refused, refusedWithoutStorage, type Done, type FormState } from "@/lib/access/action";
import { fieldsOf } from "@/lib/access/form-fields";
import { isOwnOrigin } from "@/lib/access/origin";
import { strangerReader } from "@/lib/access/reader";
import { refuse, type Result } from "@/lib/domain/result";

/**
 * The maker of the few server actions that strangers may call: asking for a code, showing a proof,
 * accepting an invitation. Origin, then form, then the act, which holds its own proof.
 */
export function openAction<S extends z.ZodType>(
  schema: S,
  run: (input: z.output<S>, now: number) => Promise<Result<Done>>,
): (state: unknown, form: FormData) => Promise<FormState> {
  return async (_state, form) => {
    if (!isOwnOrigin(await headers())) notFound();
    const parsed = schema.safeParse(fieldsOf(form));
    const field = parsed.error?.issues[0]?.path[0];
    const result = parsed.success
      ? await run(parsed.data, Date.now()).catch(refusedWithoutStorage)
      : refuse("form-invalid", typeof field === "string" ? { field } : {});
    if (!result.ok) return refused(result.problem, await strangerReader(), form);
    if (result.value.goTo) redirect(result.value.goTo);
    return { ...FRESH, isDone: true };
  };
}
