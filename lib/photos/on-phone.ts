import { z } from "zod";
import { parseTakenAt } from "@/lib/domain/photo/taken-at";
import type { PreparedPhoto } from "@/lib/photos/prepared";

const OnPhone = z.strictObject({
  originalBytes: z.int().min(1).max(1_000_000_000),
  taken: z.string().regex(/^\d{4}:\d\d:\d\d \d\d:\d\d:\d\d$/).nullable(),
  offset: z.string().regex(/^[+-]\d\d:\d\d$/).nullable(),
  isMirrored: z.boolean(),
  isCovered: z.boolean(),
});
/** What a phone says of a photo that it made ready: facts that went with the metadata, and what was done to it. */
export type OnPhone = z.infer<typeof OnPhone>;

/** Null for a photo sent as it was; undefined for words that are not a phone's of ours. */
export function readOnPhone(header: string | null): OnPhone | null | undefined {
  if (header === null) return null;
  try {
    return OnPhone.parse(JSON.parse(header));
  } catch {
    return undefined;
  }
}

/**
 * The photo with what its metadata would have said. A phone's word counts as much as a file's own and no
 * more, both being in the family's hands; what the file itself says comes first.
 */
export function withPhoneFacts(photo: PreparedPhoto, onPhone: OnPhone | null): PreparedPhoto {
  if (onPhone === null) return photo;
  return {
    ...photo,
    mirroredFlag: photo.mirroredFlag || onPhone.isMirrored,
    takenAt: photo.takenAt ?? parseTakenAt(onPhone.taken ?? undefined, onPhone.offset ?? undefined),
  };
}
