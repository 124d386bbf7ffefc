import { json, openHandler } from "@/lib/access/handler";
import { isDatabaseWritable } from "@/lib/access/readiness";

/** For whoever watches the server: well once the database takes a write. Says nothing else. */
export const GET = openHandler(async () => {
  const ok = isDatabaseWritable();
  return json({ ok }, ok ? 200 : 503);
});
