import "server-only";
import type { Reader } from "@/lib/domain/words/reader";
import { say } from "@/lib/messages/say";

/** What a player of a clip says. */
export function clipWords(durationMs: number, view: string, reader: Reader) {
  const t = say("clip", reader);
  return {
    title: t("title", { seconds: Math.max(1, Math.round(durationMs / 1000)), view }), play: t("play"), pause: t("pause"), speed: t("speed"), times: t("times", { n: "{n}" }),
    back: t("back"), on: t("on"), loopFrom: t("loopFrom"), loopTo: t("loopTo"), loopAll: t("loopAll"), keys: t("keys"),
  };
}
