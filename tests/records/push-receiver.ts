import { createDecipheriv, createECDH, createHmac, createPublicKey, randomBytes, verify, type ECDH } from "node:crypto";

const un64 = (text: string): Buffer => Buffer.from(text, "base64url");
const hmac = (key: Buffer, data: Buffer): Buffer => createHmac("sha256", key).update(data).digest();
/** HKDF (RFC 5869) of at most one block, as RFC 8291 uses it. */
const hkdf = (salt: Buffer, secret: Buffer, info: Buffer, length: number): Buffer => hmac(hmac(salt, secret), Buffer.concat([info, Buffer.from([1])])).subarray(0, length);
const label = (words: string): Buffer => Buffer.from(`${words}\0`, "latin1");

/** A browser as RFC 8291 describes it: its key pair and secret. Shares no code with what seals. */
export type Receiver = { readonly pair: ECDH; readonly auth: Buffer };

export function newReceiver(): Receiver {
  const pair = createECDH("prime256v1");
  pair.generateKeys();
  return { pair, auth: randomBytes(16) };
}

export function receiverOf(privateKey: string, auth: string): Receiver {
  const pair = createECDH("prime256v1");
  pair.setPrivateKey(un64(privateKey));
  return { pair, auth: un64(auth) };
}

export const keysOf = ({ pair, auth }: Receiver) => ({ p256dh: pair.getPublicKey("base64url"), auth: auth.toString("base64url") });

/** Opens one push message: RFC 8291, 3.3 and 3.4, with the header of RFC 8188, 2.1. Throws when it was sealed for somebody else or changed. */
export function opened(body: Buffer, { pair, auth }: Receiver): string {
  const [salt, recordSize, idLength] = [body.subarray(0, 16), body.readUInt32BE(16), body.readUInt8(20)];
  const senderKey = body.subarray(21, 21 + idLength);
  const record = body.subarray(21 + idLength);
  if (record.length > recordSize) throw new Error("more than one record");
  const keyInfo = Buffer.concat([label("WebPush: info"), pair.getPublicKey(), senderKey]);
  const secret = hkdf(auth, pair.computeSecret(senderKey), keyInfo, 32);
  const [key, nonce] = [hkdf(salt, secret, label("Content-Encoding: aes128gcm"), 16), hkdf(salt, secret, label("Content-Encoding: nonce"), 12)];
  const decipher = createDecipheriv("aes-128-gcm", key, nonce);
  decipher.setAuthTag(record.subarray(-16));
  const padded = Buffer.concat([decipher.update(record.subarray(0, -16)), decipher.final()]);
  const end = padded.lastIndexOf(2);
  if (end < 0 || padded.subarray(end + 1).some((byte) => byte !== 0)) throw new Error("no last record");
  return padded.subarray(0, end).toString("utf8");
}

/** What the `Authorization` of RFC 8292, 3 claims, once its signature (RFC 7518, 3.4) was verified with the key it names; null when it does not fit. */
export function vapidIn(authorization: string): { readonly claims: Readonly<Record<string, unknown>>; readonly key: string } | null {
  const [, token = "", key = ""] = /^vapid t=([\w.-]+), ?k=([\w-]+)$/.exec(authorization) ?? [];
  const [head = "", body = "", signature = ""] = token.split(".");
  const point = un64(key);
  if (point.length !== 65) return null;
  const jwk = { kty: "EC", crv: "P-256", x: point.subarray(1, 33).toString("base64url"), y: point.subarray(33).toString("base64url") };
  const isSigned = verify("sha256", Buffer.from(`${head}.${body}`), { key: createPublicKey({ key: jwk, format: "jwk" }), dsaEncoding: "ieee-p1363" }, un64(signature));
  const said = (part: string) => JSON.parse(un64(part).toString("utf8")) as Readonly<Record<string, unknown>>; // shown to the checks
  return isSigned && said(head)["alg"] === "ES256" ? { claims: said(body), key } : null;
}
