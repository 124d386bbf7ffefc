import type { ProblemCode } from "@/lib/domain/problem";

/** What the writer of clips (`lib/clips/rewrite.mjs`) calls a fault, and what a person is told, on the phone and by the server alike. */
export const CLIP_FAULTS = {
  "not-one-film": "clip-many-tracks",
  codec: "clip-codec-refused",
  sides: "clip-size-refused",
  "too-long": "clip-too-long",
  empty: "clip-empty",
  damaged: "clip-damaged",
} as const satisfies Record<string, ProblemCode>;
export type ClipFault = keyof typeof CLIP_FAULTS;
