import type { VoiceContainer } from "@/lib/voice/prepared";

const EBML = Buffer.from([0x1a, 0x45, 0xdf, 0xa3]);

/** Which container the bytes open with (RFC 8794, 11.2.1; ISO/IEC 14496-12, 4.3), or null. Neither name nor declared type is asked. */
export function sniffVoice(bytes: Buffer): VoiceContainer | null {
  if (bytes.subarray(0, 4).equals(EBML)) return "webm";
  return bytes.toString("latin1", 4, 8) === "ftyp" ? "mp4" : null;
}
