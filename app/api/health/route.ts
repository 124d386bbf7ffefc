import { json, openHandler } from "@/lib/access/handler";
import { isDatabaseWritable, upkeep } from "@/lib/access/readiness";

/**
 * For whoever watches the server: well once the database takes a write. Where the app makes backups it says whether
 * they are in order, and whether the last look through the data folder found anything, when it did. Nothing else.
 */
export const GET = openHandler(async () => {
  const ok = isDatabaseWritable();
  return json({ ok, ...upkeep(Date.now()) }, ok ? 200 : 503);
});
