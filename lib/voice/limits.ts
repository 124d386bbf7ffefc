/** One spoken note: three minutes (product contract), and far more bytes than speech of that length takes. */
export const VOICE_LIMITS = {
  maxBytes: 6_000_000,
  /** A longer body is no longer read: the connection is cut here. */
  cutBytes: 7_000_000,
  maxMs: 180_000,
  /** A recorder that stops itself at three minutes writes its last packets a moment later. */
  graceMs: 1000,
} as const;
