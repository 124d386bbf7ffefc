import "server-only";
import { PROBLEM_CODES } from "@/lib/domain/problem";
import problemSentences from "@/lib/messages/en/problems.json";
import voice from "@/lib/messages/en/voice.json";

/** The recorder's own words; `{used}` and the like stay for it to fill. */
export type RecorderWords = Omit<typeof voice.recorder, "problem" | "state"> & {
  readonly problem: Readonly<Record<string, string>>;
  /** What is said aloud when that begins; nothing for the rest. */
  readonly state: Readonly<Record<string, string>>;
};

/** Sentences by what went wrong: the browser's reasons, the line, and every refusal of a spoken note. */
export function recorderWords(): RecorderWords {
  const refusals = PROBLEM_CODES.filter((code) => code.startsWith("voice-") || code === "set-voided" || code.startsWith("storage-"));
  return {
    ...voice.recorder,
    problem: { ...Object.fromEntries(refusals.map((code) => [code, problemSentences[code].replace(/\{(\w+), number\}/g, "{$1}")])), ...voice.recorder.problem },
  };
}
