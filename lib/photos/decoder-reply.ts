import { z } from "zod";
import { measurePhoto } from "@/lib/domain/photo/advice";
import { isMirrored, orientationOf, uprightPixel, uprightSize } from "@/lib/domain/photo/orientation";
import { readSideCard, type CardFinding } from "@/lib/domain/photo/side-card";
import type { ProblemCode } from "@/lib/domain/problem";
import { KEPT_SIZES, type KeptPicture, type KeptSize, type PreparedPicture } from "@/lib/photos/prepared";
import type { DecoderReply } from "@/lib/photos/decoder-child";

const side = z.int().min(1).max(12_000);
const shape = z.object({ width: side, height: side });

const corner = z.object({ x: z.number(), y: z.number() });
const Seen = z.object({
  codes: z.array(z.object({ text: z.string(), mirrored: z.boolean(), corners: z.tuple([corner, corner, corner, corner]) })),
  width: side,
  height: side,
  /** Which way the picture was stored in which they were seen. */
  orientation: z.int().min(1).max(8),
});

const Failed = z.object({ ok: z.literal(false), fault: z.enum(["damaged", "too-many-pixels", "timeout"]) });
const Made = z.object({
  ok: z.literal(true),
  pictures: z.array(shape).length(KEPT_SIZES.length + 1),
  measured: shape.extend({ channels: z.union([z.literal(1), z.literal(3)]) }),
});
const Prepared = Made.extend({
  width: side,
  height: side,
  seen: Seen,
  exif: z.object({ orientation: z.number().optional(), takenAt: z.string().optional(), offset: z.string().optional() }),
});

const FAULTS: Record<z.infer<typeof Failed>["fault"], ProblemCode> = {
  damaged: "photo-damaged",
  "too-many-pixels": "photo-too-many-pixels",
  timeout: "photo-decoder-stopped",
};

/** The code a refusing decoder means, or null when it did its work. */
export function faultOf(reply: DecoderReply): ProblemCode | null {
  const failed = Failed.safeParse(reply.header);
  return failed.success ? FAULTS[failed.data.fault] : null;
}

/** What the decoder says about the photo itself. Throws when the reply has another shape. */
export function readPrepared(reply: DecoderReply): z.infer<typeof Prepared> {
  return Prepared.parse(reply.header);
}

/**
 * What the codes say in the photo turned upright, before any flip by hand or by card; the decoder saw them in the picture as it
 * is stored. Throws when the reply has another shape.
 */
export function readCard(reply: DecoderReply): CardFinding | null {
  const { codes, orientation: seen, ...stored } = Seen.parse(reply.header["seen"]);
  const orientation = orientationOf(seen);
  const upright = codes.map(({ text, mirrored, corners: [a, b, c, d] }) => {
    const turned = ({ x, y }: z.infer<typeof corner>) => uprightPixel(orientation, x, y, stored);
    return { text, mirrored: mirrored !== isMirrored(orientation), corners: [turned(a), turned(b), turned(c), turned(d)] as const };
  });
  return readSideCard(upright, uprightSize(stored, orientation));
}

/** The pictures a decoder made, measured. Throws when the reply has another shape. */
export function readPictures(reply: DecoderReply): PreparedPicture {
  const { pictures, measured } = Made.parse(reply.header);
  const [large, medium, small, tiny] = pictures;
  const [first, second, third, fourth, pixels] = reply.parts;
  if (!large || !medium || !small || !tiny || !first || !second || !third || !fourth || !pixels) {
    throw new Error("decoder reply is short of parts");
  }
  const kept = (size: KeptSize, of: z.infer<typeof shape>, bytes: Buffer): KeptPicture => ({ size, ...of, bytes });
  return {
    sizes: [kept(KEPT_SIZES[0], large, first), kept(KEPT_SIZES[1], medium, second), kept(KEPT_SIZES[2], small, third)],
    placeholder: { ...tiny, bytes: fourth },
    measures: measurePhoto({ ...measured, pixels }),
  };
}
