import "server-only";
import { database } from "@/db/client";

/**
 * Whether the database takes a durable write now. Writing a header field its own value again is a real
 * commit, synced to the disk, and changes nothing.
 */
export function isDatabaseWritable(): boolean {
  try {
    const client = database().$client;
    const same: unknown = client.pragma("application_id", { simple: true });
    client.pragma(`application_id = ${Number(same)}`);
    return true;
  } catch {
    // Full, read-only, damaged or locked: all the same to whoever asks.
    return false;
  }
}
