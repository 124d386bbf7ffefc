import { readFile } from "node:fs/promises";
import { join } from "node:path";
import { openHandler } from "@/lib/access/handler";

/** A worker is held to the policy its own script came with: it may ask this server, and show its sign beside a message, and nothing else. */
const POLICY = "default-src 'none'; connect-src 'self'; img-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

/** The bundled worker of this build, asked for anew each time, or an old one would stay on the phones. */
export const GET = openHandler(async () => {
  const script = await readFile(join(/* turbopackIgnore: true */ process.cwd(), ".next", "worker.js")).catch(() => null);
  // The development server has none.
  if (!script) return new Response(null, { status: 404 });
  return new Response(new Uint8Array(script), {
    headers: { "Content-Type": "text/javascript; charset=utf-8", "Cache-Control": "no-cache", "Content-Security-Policy": POLICY },
  });
});
