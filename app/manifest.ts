import type { MetadataRoute } from "next";
import { readerNow } from "@/lib/access/session";
import { GROUND } from "@/lib/domain/installed/colours";
import { SHARE_FIELD, SHARE_PATH } from "@/lib/domain/installed/shared";
import { PICTURES } from "@/lib/domain/installed/sign";
import { say } from "@/lib/messages/say";

/** What a phone needs to put the app beside its others (W3C Web App Manifest; Web Share Target API). */
export default async function manifest(): Promise<MetadataRoute.Manifest> {
  const reader = await readerNow();
  const common = say("common", reader);
  return {
    id: "/",
    name: common("product"),
    short_name: common("product"),
    description: common("about"),
    lang: reader.locale,
    start_url: "/",
    scope: "/",
    display: "standalone",
    background_color: GROUND.light,
    theme_color: GROUND.light,
    icons: Object.entries(PICTURES).map(([name, { size, purpose }]) => ({ src: `/icons/${name}`, sizes: `${size}x${size}`, type: "image/png", purpose })),
    share_target: {
      action: SHARE_PATH,
      method: "POST",
      enctype: "multipart/form-data",
      params: { files: [{ name: SHARE_FIELD, accept: ["image/jpeg", "image/png", "image/webp", "image/heic", "image/heif"] }] },
    },
  };
}
