import "server-only";
import type { ProblemCode } from "@/lib/domain/problem";
import { say } from "@/lib/messages/say";

/** Sentences for a form of strangers, by problem code. */
export function problemWords(codes: readonly ProblemCode[]): Record<string, string> {
  const t = say("problems");
  return { ...Object.fromEntries(codes.map((code) => [code, t(code)])), other: t("form-invalid") };
}

export const CODE_PROBLEMS = ["code-wrong", "code-expired", "code-used-up", "link-spent", "address-invalid"] as const satisfies readonly ProblemCode[];
export const SECOND_PROBLEMS = ["second-factor-wrong", "second-step-over"] as const satisfies readonly ProblemCode[];
