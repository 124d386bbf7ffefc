import { createHash, generateKeyPairSync, sign } from "node:crypto";
import { Secret, TOTP } from "otpauth";
import { addPerson, makeWorld } from "@/tests/records/world";

/** Two therapists of a practice at the address that the authenticators here know. */
export function staffWorld() {
  process.env["PUBLIC_URL"] = "https://practice.example";
  const world = makeWorld();
  addPerson("therapist", "therapist");
  addPerson("other", "therapist");
  return {
    close(): void {
      delete process.env["PUBLIC_URL"];
      world.close();
    },
  };
}

/** What became of an act, as its code. */
export const codeOf = (result: { readonly ok: boolean; readonly problem?: { readonly code: string } }): string => (result.ok ? "ok" : result.problem?.code ?? "?");
/** RFC 6238 by a library of its own, in Base32. */
export const codeAt = (secret: string, at: number): string => new TOTP({ secret: Secret.fromBase32(secret), digits: 6, period: 30, algorithm: "SHA1" }).generate({ timestamp: at });

/**
 * A platform authenticator in software, after W3C Web Authentication Level 2, sections 6.1 (authenticator
 * data), 6.5.1 (attested credential data) and 8.7 (no attestation); ES256 key as COSE (RFC 9053).
 */
export function authenticator(options: { readonly origin?: string; readonly flags?: number } = {}) {
  const { privateKey, publicKey } = generateKeyPairSync("ec", { namedCurve: "P-256" });
  const jwk = publicKey.export({ format: "jwk" });
  const id = Buffer.from(createHash("sha256").update(jwk.x ?? "").digest().subarray(0, 16));
  const base = (bytes: Buffer): string => bytes.toString("base64url");
  // User present 1, user verified 4, attested credential data 64.
  const flags = options.flags ?? 5;
  let counter = 0;
  const authData = (extra: Buffer, more: number): Buffer => {
    const head = Buffer.alloc(37);
    createHash("sha256").update("practice.example").digest().copy(head);
    head[32] = flags | more;
    head.writeUInt32BE(counter, 33);
    return Buffer.concat([head, extra]);
  };
  const client = (type: string, challenge: string): Buffer =>
    Buffer.from(JSON.stringify({ type, challenge, origin: options.origin ?? "https://practice.example", crossOrigin: false }));
  const common = { id: base(id), rawId: base(id), type: "public-key" as const, clientExtensionResults: {} };
  return {
    make(challenge: string) {
      const cose = Buffer.concat([
        Buffer.from("a5010203262001215820", "hex"), Buffer.from(jwk.x ?? "", "base64url"), Buffer.from("225820", "hex"), Buffer.from(jwk.y ?? "", "base64url"),
      ]);
      const data = authData(Buffer.concat([Buffer.alloc(16), Buffer.from([0, id.length]), id, cose]), 64);
      const attestation = Buffer.concat([
        Buffer.from("a363666d74646e6f6e656761747453746d74a068617574684461746158", "hex"), Buffer.from([data.length]), data,
      ]);
      return { ...common, response: { clientDataJSON: base(client("webauthn.create", challenge)), attestationObject: base(attestation), transports: [] } };
    },
    show(challenge: string, step = 1) {
      counter += step;
      const data = authData(Buffer.alloc(0), 0);
      const clientData = client("webauthn.get", challenge);
      const signature = sign("sha256", Buffer.concat([data, createHash("sha256").update(clientData).digest()]), privateKey);
      return { ...common, response: { clientDataJSON: base(clientData), authenticatorData: base(data), signature: base(signature) } };
    },
  };
}
