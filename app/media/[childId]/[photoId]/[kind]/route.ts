import { handler, json } from "@/lib/access/handler";
import { privateMedia } from "@/lib/media/private-headers";
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
  const { headers, isKnown } = privateMedia(request, picture.sha256);
  if (isKnown) return new Response(null, { status: 304, headers });
  const bytes = await picture.read();
  return new Response(new Uint8Array(bytes), {
    headers: {
      ...headers,
      "Content-Type": "image/jpeg",
      "Content-Length": String(bytes.length),
      "Content-Disposition": 'inline; filename="photo.jpg"',
    },
  });
});
