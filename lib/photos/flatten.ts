import "server-only";
import { ok, refuse, type Result } from "@/lib/domain/result";
import { decoderPool, type DecoderPool } from "@/lib/photos/decoder-pool";
import { faultOf } from "@/lib/photos/decoder-reply";

/** Anything by which a drawing could reach outside itself; our own marks need none of it. */
const REACHES_OUT = /<(?:!|\?|image|script|style|foreignObject|use|a)\b|<!|<\?|href|url\(\s*["']?(?!#)|@import/i;

/**
 * Draws our own marks over our own kept JPEG and returns the flattened JPEG. The drawing is stretched
 * to the picture, so its view box alone fixes where marks lie. Runs in a process that opens SVG, and
 * therefore never what a family sends. Throws when the drawing is not one of ours.
 */
export async function flatten(
  keptJpeg: Uint8Array,
  marksSvg: string,
  pool: DecoderPool = decoderPool("marks"),
): Promise<Result<Buffer>> {
  if (!marksSvg.startsWith("<svg") || REACHES_OUT.test(marksSvg)) throw new Error("not a drawing of ours");
  if (keptJpeg[0] !== 0xff || keptJpeg[1] !== 0xd8) throw new Error("not a kept JPEG");
  const parts = [keptJpeg, Buffer.from(marksSvg, "utf8")];
  const replied = await pool.run({ header: { operation: "flatten" }, parts });
  if (!replied.ok) return replied;
  const fault = faultOf(replied.value);
  if (fault) return refuse(fault);
  const [jpeg] = replied.value.parts;
  if (!jpeg) throw new Error("decoder reply is short of parts");
  return ok(jpeg);
}
