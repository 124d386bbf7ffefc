import sharp from "sharp";
import { sign } from "@/lib/domain/installed/sign";

export const contentType = "image/png";
export const size = { width: 180, height: 180 };

/** These phones round the corners themselves. */
export default async function AppleIcon(): Promise<Response> {
  const png = await sharp(Buffer.from(sign("full"))).resize(size).png().toBuffer();
  return new Response(new Uint8Array(png), { headers: { "Content-Type": contentType } });
}
