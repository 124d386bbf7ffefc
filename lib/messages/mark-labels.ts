import "server-only";
import type { MarkLabels } from "@/lib/domain/marks/draw";
import { say } from "@/lib/messages/say";

/** What is written beside measured marks, on the screen and in the flattened picture alike; `{degrees}` stays to be filled. */
export function markLabels(): MarkLabels {
  const t = say("marks");
  return { angle: t("angleLabel", { degrees: "{degrees}" }), level: t("levelLabel", { degrees: "{degrees}" }) };
}
