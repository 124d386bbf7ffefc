import "server-only";
import { z } from "zod";
import type { ProblemCode } from "@/lib/domain/problem";
import { ok, refuse, type Problem, type Result } from "@/lib/domain/result";
import { DecoderPool, decoderPool } from "@/lib/photos/decoder-pool";
import { receive, type Body, type Declared } from "@/lib/photos/receive";
import { VOICE_LIMITS } from "@/lib/voice/limits";
import type { PreparedVoice } from "@/lib/voice/prepared";
import { sniffVoice } from "@/lib/voice/sniff";

/** What the shared receiver and pool call it, and what it is here. */
const CODES: Partial<Record<ProblemCode, ProblemCode>> = {
  "photo-too-large": "voice-too-big",
  "photo-empty": "voice-empty",
  "photo-length-mismatch": "voice-length-mismatch",
  "photo-hash-mismatch": "voice-hash-mismatch",
  "photo-queue-full": "voice-queue-full",
  "photo-decoder-stopped": "voice-stopped",
};

const FAULTS = {
  "not-one-sound": "voice-not-one-sound",
  codec: "voice-kind-refused",
  "too-long": "voice-too-long",
  empty: "voice-empty",
  damaged: "voice-damaged",
} as const satisfies Record<string, ProblemCode>;

const Reply = z.discriminatedUnion("ok", [
  z.object({ ok: z.literal(true), durationMs: z.int().min(1).max(VOICE_LIMITS.maxMs + VOICE_LIMITS.graceMs) }),
  z.object({ ok: z.literal(false), fault: z.enum(Object.keys(FAULTS) as [keyof typeof FAULTS]) }), // the keys of the table just above
]);

/**
 * Takes one spoken note in: counts, sniffs by content, and has a child process write its sound packets
 * into a new container without title, date, place or the recorder's name. Nothing is decoded and
 * nothing touches the disk. What an encoder hides inside its own sound packets stays: only decoding
 * could remove it. Refusals are `voice-*` codes; throws only when the connection is lost or on a bug.
 */
export async function takeInVoice(body: Body, declared: Declared = {}, pool: DecoderPool = decoderPool("voice")): Promise<Result<PreparedVoice>> {
  // Before 6 MB are read for nothing.
  if (pool.isFull) return refuseAsVoice(pool.refuseFull().problem);
  const received = await receive(body, declared, VOICE_LIMITS);
  if (!received.ok) return refuseAsVoice(received.problem);
  const { bytes, sha256 } = received.value;
  const container = sniffVoice(bytes);
  if (!container) return refuse("voice-kind-refused");
  const replied = await pool.run({ header: { operation: "remux", kind: container }, parts: [bytes] });
  if (!replied.ok) return refuseAsVoice(replied.problem);
  const reply = Reply.parse(replied.value.header);
  if (!reply.ok) return refuse(FAULTS[reply.fault]);
  const [made] = replied.value.parts;
  if (!made) throw new Error("remuxer reply is short of parts");
  return ok({ container, durationMs: reply.durationMs, bytes: made, receivedBytes: bytes.length, sha256 });
}

function refuseAsVoice({ code, values }: Problem) {
  return refuse(CODES[code] ?? code, values ? { values } : {});
}
