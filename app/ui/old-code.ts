import { unstable_isUnrecognizedActionError as isUnknownAction } from "next/navigation";

/** This page came with an older build than the server runs now: an act or a file of it is gone. Only a reload helps. */
export const isOldCode = (error: unknown): boolean =>
  isUnknownAction(error) || (error instanceof Error && (error.name === "ChunkLoadError" || error.message.startsWith("Failed to load chunk")));

/**
 * The server was not reached, or something before it answered: what was sent may be sent again under its
 * key. Browsers word the first each in their own way, the framework the second.
 */
export const isLostLine = (error: unknown): boolean =>
  error instanceof Error && (/unexpected response was received/i.test(error.message) || (error instanceof TypeError && /fetch|load failed|network/i.test(error.message)));
