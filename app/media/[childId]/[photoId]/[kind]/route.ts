import { handler, json } from "@/lib/access/handler";
import { pictureOf, type PictureKind } from "@/lib/records/media";

const KINDS: readonly string[] = ["2048", "1024", "320", "marked"] satisfies readonly PictureKind[];
const isKind = (kind: string): kind is PictureKind => KINDS.includes(kind);

/**
 * The one door for pictures. Every request is authorised, and only then may the browser's own copy be
 * called fresh; so a picture whose consent was withdrawn closes at the next look.
 */
export const GET = handler("photo.view", async (granted, request, params, now) => {
  const { photoId = "", kind = "" } = params;
  const picture = isKind(kind) ? await pictureOf(granted, photoId, kind, now) : null;
  if (!picture) return json({ error: "not-found" }, 404);
  const tag = `"${picture.sha256}"`;
  const headers = {
    "Cache-Control": "private, no-cache",
    ETag: tag,
    "X-Content-Type-Options": "nosniff",
    "Content-Security-Policy": "sandbox; default-src 'none'",
    "Cross-Origin-Resource-Policy": "same-origin",
  };
  const known = request.headers.get("if-none-match")?.split(",").map((each) => each.trim()) ?? [];
  if (known.includes(tag)) return new Response(null, { status: 304, headers });
  return new Response(new Uint8Array(picture.bytes), {
    headers: {
      ...headers,
      "Content-Type": "image/jpeg",
      "Content-Length": String(picture.bytes.length),
      "Content-Disposition": 'inline; filename="photo.jpg"',
    },
  });
});
