/** One short clip: long enough for two slow breaths, and small enough to arrive over a poor line. */
export const CLIP_LIMITS = {
  maxBytes: 60_000_000,
  maxMs: 20_000,
  /** A camera that is stopped by hand writes its last frames a moment later. */
  graceMs: 1000,
  /** Phones write sound, depth and sensor tracks beside the film; more than this is no phone's file. */
  maxTracks: 16,
  /** In pixels. As a photo's, since one moment of a clip becomes its photo; the remuxer holds it too. */
  minSide: 200,
  maxSide: 4096,
} as const;

export const CLIP_CONTAINERS = ["webm", "mp4"] as const;
export type ClipContainer = (typeof CLIP_CONTAINERS)[number];

export const CLIP_CODECS = ["avc", "hevc", "vp8", "vp9", "av1"] as const;
export type ClipCodec = (typeof CLIP_CODECS)[number];
