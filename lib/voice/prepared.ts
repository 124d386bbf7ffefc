export type VoiceContainer = "webm" | "mp4";

/** A spoken note as it is kept: the recorder's own sound packets in a container that says nothing else. */
export type PreparedVoice = {
  readonly container: VoiceContainer;
  /** Measured on the packets, in milliseconds. */
  readonly durationMs: number;
  readonly bytes: Buffer;
  /** What arrived, byte for byte; the recording as sent is never kept. */
  readonly receivedBytes: number;
  /** SHA-256 of what arrived, 64 lower-case hexadecimal digits. */
  readonly sha256: string;
};
