import sharp from "sharp";
import { json, openHandler } from "@/lib/access/handler";
import { isPicture, PICTURES, sign } from "@/lib/domain/installed/sign";

/** The sign of the app as the manifest names it, drawn when a phone asks. */
export const GET = openHandler(async (_request, { icon }) => {
  if (!isPicture(icon)) return json({ error: "not-found" }, 404);
  const { size, shape } = PICTURES[icon];
  const png = await sharp(Buffer.from(sign(shape))).resize(size, size).png().toBuffer();
  return new Response(new Uint8Array(png), { headers: { "Content-Type": "image/png", "Cache-Control": "public, max-age=86400" } });
});
