import type { ProblemCode } from "@/lib/domain/problem";

/** An outcome the person can act on; its wording stands in the message catalogue under `problems`. */
export type Problem = {
  readonly code: ProblemCode;
  /** Values its sentence needs. Never names, photos or health data. */
  readonly values?: Readonly<Record<string, string | number>>;
  /** Which form field it belongs to, when one field is at fault. */
  readonly field?: string;
};

export type Result<T> =
  | { readonly ok: true; readonly value: T }
  | { readonly ok: false; readonly problem: Problem };

export const ok = <T>(value: T): Result<T> => ({ ok: true, value });

export function refuse(
  code: ProblemCode,
  detail: { readonly values?: Problem["values"]; readonly field?: string } = {},
): { readonly ok: false; readonly problem: Problem } {
  return {
    ok: false,
    problem: {
      code,
      ...(detail.values ? { values: detail.values } : {}),
      ...(detail.field ? { field: detail.field } : {}),
    },
  };
}
