import { readBoxes } from "@/lib/domain/clip/boxes";
import { readElements } from "@/lib/domain/clip/elements";
import { CLIP_LIMITS, type ClipContainer } from "@/lib/domain/clip/limits";
import type { TakenAt } from "@/lib/domain/photo/taken-at";
import { ok, refuse, type Result } from "@/lib/domain/result";

/** What a container says of itself, before anything in it is trusted. */
export type ClipHeader = {
  readonly tracks: number;
  readonly films: number;
  readonly isEncrypted: boolean;
  readonly takenAt: TakenAt | null;
};

export type InspectedClip = { readonly container: ClipContainer; readonly takenAt: TakenAt | null };

/**
 * Which container the bytes open with (ISO/IEC 14496-12, 4.3; RFC 8794, 11.2.1), and what a person can be told of it
 * before it is sent or opened. Neither name nor declared type is asked. Refused: `clip-empty`, `clip-too-big`,
 * `clip-kind-refused`, `clip-encrypted`, `clip-many-tracks`, `clip-no-film`, `clip-damaged`.
 */
export function inspectClip(bytes: Uint8Array): Result<InspectedClip> {
  if (bytes.length === 0) return refuse("clip-empty");
  if (bytes.length > CLIP_LIMITS.maxBytes) return refuse("clip-too-big", { values: { max: CLIP_LIMITS.maxBytes / 1e6 } });
  const container = clipContainer(bytes);
  if (!container) return refuse("clip-kind-refused");
  const header = container === "mp4" ? readBoxes(bytes) : readElements(bytes);
  if (!header) return refuse("clip-damaged");
  if (header.tracks > CLIP_LIMITS.maxTracks) return refuse("clip-many-tracks");
  if (header.isEncrypted) return refuse("clip-encrypted");
  if (header.films === 0) return refuse("clip-no-film");
  if (header.films > 1) return refuse("clip-many-tracks");
  return ok({ container, takenAt: header.takenAt });
}

/** Brands that share the box format and are pictures or sound (HEIF, AVIF, M4A). */
const NO_FILM = /^(?:hei[cfmsx]|hev[cmsx]|mif1|msf1|avi[fs]|M4A |M4B )$/;

/** Which film container some first bytes open, or null: a picture, a sound recording or anything else. */
export function clipContainer(bytes: Uint8Array): ClipContainer | null {
  const latin = (from: number, to: number): string => String.fromCharCode(...bytes.subarray(from, to));
  if (bytes[0] === 0x1a && bytes[1] === 0x45 && bytes[2] === 0xdf && bytes[3] === 0xa3) return "webm";
  const first = latin(4, 8);
  if (first === "ftyp") return NO_FILM.test(latin(8, 12)) ? null : "mp4";
  // QuickTime before 2001 and some action cameras open without naming a brand.
  return first === "moov" || first === "mdat" || first === "wide" ? "mp4" : null;
}
