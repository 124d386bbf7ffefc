/**
 * The remuxer of clips: a child process that writes an untrusted film's frames anew (`rewrite.mjs`), so that a crash, a
 * memory bomb or an endless loop ends this process and nothing else. It never decodes a frame.
 *
 *   node lib/clips/remuxer.mjs clips --memory-mb=600
 *
 * `lib/photos/child.mjs` says how it is asked, bounded and ended; `lib/voice/remuxer.mjs` does the same for sound.
 */
import { faultOf, NOT_STATED, rewrite } from "./rewrite.mjs";

// Plain JavaScript knows no "@/".
const { serveParent } = await import(new URL("../photos/child.mjs", import.meta.url).href);

Date.now = () => NOT_STATED;

serveParent(process.argv[3], async ({ operation, kind }, [bytes]) => {
  if (operation === "warm") return { parts: [] };
  const { made, ...header } = await rewrite(kind, bytes);
  return { header, parts: [made] };
}, faultOf);
