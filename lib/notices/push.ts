import "server-only";
import { createECDH, ECDH } from "node:crypto";
import webPush from "web-push";
import { practiceSecrets } from "@/lib/access/sealed";
import { publicUrl } from "@/lib/access/origin";
import { endpointOf, PUSH_LIFE_S, type Pushed, type Urgency } from "@/lib/domain/notices/push";
import type { Reader } from "@/lib/domain/words/reader";
import { say } from "@/lib/messages/say";
import { openAddress } from "@/lib/notices/phones";
import { askPushService, type Ask } from "@/lib/notices/push-service";

/** One push to one browser of one person. */
export type Push = { readonly sealedAddress: string; readonly isStaff: boolean; readonly reader: Reader; readonly urgency: Urgency };

/** Not taken. `isOver`: this browser will never take one again. `afterMs`: how long the service asks to be left alone. */
export class PushRefused extends Error {
  constructor(readonly code: string, readonly isOver: boolean, readonly afterMs = 0) {
    super("the push was not taken");
    this.name = "PushRefused";
  }
}

const base64url = (bytes: Buffer): string => bytes.toString("base64url");

/** The practice's key pair as a browser is told it, and as its push service checks it (RFC 8292). */
export function pushKeys(): { readonly publicKey: string; readonly privateKey: string } {
  const { pushKey } = practiceSecrets();
  const pair = createECDH("prime256v1");
  pair.setPrivateKey(pushKey);
  return { publicKey: base64url(pair.getPublicKey()), privateKey: base64url(pushKey) };
}

/** Whether a browser's public key is one: an uncompressed point on P-256 (RFC 8291, 2.1). */
export function isPointOnCurve(p256dh: string): boolean {
  try {
    return ECDH.convertKey(p256dh, "prime256v1", "base64url", "base64url", "uncompressed") === p256dh;
  } catch {
    return false;
  }
}

/** Whom a push service may turn to: the practice's own address, where that is one a stranger can open. */
const contact = (): string => (publicUrl().protocol === "https:" ? publicUrl().origin : "mailto:no-reply@localhost");

/** The same sentence whatever is new, as mails have the same subject. */
export const pushedTo = ({ isStaff, reader }: Pick<Push, "isStaff" | "reader">): Pushed =>
  ({ says: say("notices", reader)("subject"), lang: reader.locale, to: isStaff ? "/desk" : "/family" });

/** Seals and sends one push (RFC 8030, 8291, 8292), or throws `PushRefused`. A newer one takes the place of one that still waits. */
export async function sendPush(push: Push, ask: Ask = askPushService): Promise<void> {
  const address = openAddress(push.sealedAddress);
  const endpoint = address && endpointOf(address.endpoint);
  if (!address || !endpoint) throw new PushRefused("EADDRESS", true);
  const { endpoint: _same, method: _post, ...sealed } = webPush.generateRequestDetails(
    { endpoint: endpoint.href, keys: { p256dh: address.p256dh, auth: address.auth } }, JSON.stringify(pushedTo(push)),
    // A topic for each urgency: news must not take the place of an alarm that still waits.
    { vapidDetails: { subject: contact(), ...pushKeys() }, contentEncoding: "aes128gcm", TTL: PUSH_LIFE_S, urgency: push.urgency, topic: push.urgency },
  );
  const { status, afterMs } = await ask({ endpoint, headers: headersOf(sealed.headers), body: sealed.body });
  if (status >= 200 && status < 300) return;
  // RFC 8030, 7.3: the subscription is no more.
  throw new PushRefused(String(status), status === 404 || status === 410, afterMs);
}

const headersOf = (headers: object): Record<string, string> => Object.fromEntries(Object.entries(headers).map(([name, value]) => [name, String(value)]));
