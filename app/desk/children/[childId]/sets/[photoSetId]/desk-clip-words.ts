import "server-only";
import { secondsOf } from "@/lib/domain/clip/moment";
import { PROBLEM_CODES } from "@/lib/domain/problem";
import clip from "@/lib/messages/en/clip.json";
import problemSentences from "@/lib/messages/en/problems.json";
import { say } from "@/lib/messages/say";

/** What stands under a clip on the desk; `{at}` and the like stay for it to fill. */
export type DeskClipWords = typeof clip.desk & {
  readonly repeat: string;
  /** By a refusal's code. */
  readonly problem: Readonly<Record<string, string>>;
};

export function deskClipWords(): DeskClipWords {
  const refusals = PROBLEM_CODES.filter((code) => code.startsWith("moment") || code === "clip-gone" || code === "stale-version" || code === "storage-full");
  return { ...clip.desk, repeat: clip.repeat, problem: Object.fromEntries(refusals.map((code) => [code, problemSentences[code].replace(/\{(\w+), number\}/g, "{$1}")])) };
}

/** What a moment is called, long and short: never by a number, as the photos that a family sent are. */
export function momentWords(clipMs: number, by: string): { readonly alt: string; readonly short: string } {
  const t = say("clip");
  return { alt: t("desk.alt", { at: secondsOf(clipMs), who: by }), short: t("desk.short", { at: secondsOf(clipMs) }) };
}
