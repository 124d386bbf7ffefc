import { toString } from "qrcode";
import { PhotoFrame } from "@/app/ui/photo-frame";
import { DefinitionRows } from "@/app/ui/ruled";
import { Stack } from "@/app/ui/stack";
import { totpUri } from "@/lib/access/totp";
import type { Reader } from "@/lib/domain/words/reader";
import { say } from "@/lib/messages/say";

const SIZE = 240;

/** The new secret as a picture, as text to type, and as a link for an app on the same device. */
export async function TotpSetup({ secret, label, reader }: { readonly secret: string; readonly label: string; readonly reader: Reader }) {
  const t = say("auth", reader);
  const uri = totpUri(secret, label);
  const svg = await toString(uri, { type: "svg", margin: 4 });
  return (
    <Stack>
      <p>{t("second.totpScan")}</p>
      <PhotoFrame src={`data:image/svg+xml;base64,${Buffer.from(svg).toString("base64")}`} alt={t("second.totpPicture")} width={SIZE} height={SIZE} />
      <DefinitionRows rows={[{ term: t("second.totpKey"), value: <code>{secret.replace(/(.{4})(?=.)/g, "$1 ")}</code> }]} />
      <p><a href={uri}>{t("second.totpOpen")}</a></p>
    </Stack>
  );
}
