import "server-only";
import { createHash } from "node:crypto";
import { z } from "zod";
import { CLIP_FAULTS, type ClipFault } from "@/lib/domain/clip/faults";
import { inspectClip } from "@/lib/domain/clip/inspect";
import { CLIP_CODECS, CLIP_LIMITS } from "@/lib/domain/clip/limits";
import type { ProblemCode } from "@/lib/domain/problem";
import { ok, refuse, type Problem, type Result } from "@/lib/domain/result";
import type { PreparedClip } from "@/lib/clips/prepared";
import { DecoderPool, decoderPool } from "@/lib/photos/decoder-pool";

/** What the shared pool calls it, and what it is here. */
const CODES: Partial<Record<ProblemCode, ProblemCode>> = { "photo-queue-full": "clip-queue-full", "photo-decoder-stopped": "clip-stopped" };

const side = z.int().min(1).max(CLIP_LIMITS.maxSide);
const Reply = z.discriminatedUnion("ok", [
  z.object({
    ok: z.literal(true), codec: z.enum(CLIP_CODECS), durationMs: z.int().min(1), frames: z.int().min(1), width: side, height: side, mirroredFlag: z.boolean(),
  }),
  z.object({ ok: z.literal(false), fault: z.enum(Object.keys(CLIP_FAULTS) as [ClipFault]) }), // its keys are those faults
]);

/**
 * Takes one short clip in: looks at its content, and has a child process write its frames into a new container,
 * without sound, date, place or the maker's name. Nothing is decoded and nothing touches the disk. What an encoder
 * hides inside a frame's own pixels stays. Refusals are `clip-*` codes; throws only on a bug.
 */
export async function takeInClip(bytes: Buffer, pool: DecoderPool = decoderPool("clips")): Promise<Result<PreparedClip>> {
  const inspected = inspectClip(bytes);
  if (!inspected.ok) return inspected;
  const { container, takenAt } = inspected.value;
  const replied = await pool.run({ header: { operation: "remux", kind: container }, parts: [bytes] });
  if (!replied.ok) return refuseAsClip(replied.problem);
  const reply = Reply.parse(replied.value.header);
  if (!reply.ok) return refuse(CLIP_FAULTS[reply.fault], reply.fault === "too-long" ? TOO_LONG : {});
  const [made] = replied.value.parts;
  if (!made) throw new Error("remuxer reply is short of parts");
  const { ok: _, ...said } = reply;
  if (said.durationMs > CLIP_LIMITS.maxMs + CLIP_LIMITS.graceMs) return refuse("clip-too-long", TOO_LONG);
  return ok({ ...said, container, takenAt, bytes: made, receivedBytes: bytes.length, sha256: createHash("sha256").update(bytes).digest("hex") });
}

const TOO_LONG = { values: { seconds: CLIP_LIMITS.maxMs / 1000 } };

function refuseAsClip({ code, values }: Problem) {
  return refuse(CODES[code] ?? code, values ? { values } : {});
}
