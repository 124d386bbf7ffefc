import type { ClipCodec, ClipContainer } from "@/lib/domain/clip/limits";
import type { TakenAt } from "@/lib/domain/photo/taken-at";

/** A clip as it is kept: the camera's own frames, without sound, in a container that says nothing else. */
export type PreparedClip = {
  readonly container: ClipContainer;
  readonly codec: ClipCodec;
  /** Measured on the frames, in milliseconds. */
  readonly durationMs: number;
  readonly frames: number;
  /** As it is shown: turned by the container's own turn. */
  readonly width: number;
  readonly height: number;
  /** The file itself asks to be shown mirror-reversed. */
  readonly mirroredFlag: boolean;
  readonly takenAt: TakenAt | null;
  readonly bytes: Buffer;
  /** What arrived, byte for byte; the clip as sent is never kept. */
  readonly receivedBytes: number;
  /** SHA-256 of what arrived, 64 lower-case hexadecimal digits. */
  readonly sha256: string;
};
