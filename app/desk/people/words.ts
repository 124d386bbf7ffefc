import "server-only";
import type { ProblemCode } from "@/lib/domain/problem";
import { say } from "@/lib/messages/say";

const CODES = ["address-invalid", "address-taken", "child-not-chosen", "own-access", "stale-version"] as const satisfies readonly ProblemCode[];

/** Sentences for the forms about people. */
export function peopleProblems(): Record<string, string> {
  const t = say("problems");
  return { ...Object.fromEntries(CODES.map((code) => [code, t(code)])), other: t("form-invalid") };
}
