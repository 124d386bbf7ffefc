import "server-only";
import { randomUUID } from "node:crypto";
import {
  generateAuthenticationOptions, generateRegistrationOptions, verifyAuthenticationResponse, verifyRegistrationResponse,
  type AuthenticationResponseJSON, type PublicKeyCredentialCreationOptionsJSON, type PublicKeyCredentialRequestOptionsJSON,
  type RegistrationResponseJSON,
} from "@simplewebauthn/server";
import { and, eq } from "drizzle-orm";
import { database, type Transaction } from "@/db/client";
import { challenges, passkeys } from "@/db/schema/sign-in";
import { publicUrl } from "@/lib/access/origin";
import { isSame, keyedHash, randomToken, tokenHash } from "@/lib/access/sealed";

const CHALLENGE_LIFE_MS = 10 * 60_000;
/** A challenge names when it was made and is keyed, so that a page needs no row until it is used. */
const CHALLENGE = /^([\w-]{43})\.(\d{13,16})\.([\w-]{43})$/;

/** What the browser needs to ask for a passkey; `personId` null lets the authenticator say who. */
export async function passkeyRequest(personId: string | null, now: number): Promise<PublicKeyCredentialRequestOptionsJSON> {
  return generateAuthenticationOptions({
    rpID: publicUrl().hostname,
    challenge: newChallenge(now),
    userVerification: "required",
    ...(personId === null ? {} : { allowCredentials: keysOf(personId).map(({ credentialId }) => ({ id: credentialId })) }),
  });
}

/** What the browser needs to make a passkey that also verifies its user, so that it is two factors in one. */
export async function passkeyOffer(person: { readonly id: string; readonly email: string; readonly name: string }, now: number): Promise<PublicKeyCredentialCreationOptionsJSON> {
  return generateRegistrationOptions({
    rpName: "Trueside",
    rpID: publicUrl().hostname,
    userName: person.email,
    userDisplayName: person.name,
    userID: new TextEncoder().encode(person.id),
    challenge: newChallenge(now),
    excludeCredentials: keysOf(person.id).map(({ credentialId }) => ({ id: credentialId })),
    authenticatorSelection: { residentKey: "required", userVerification: "required" },
  });
}

/** A new passkey, checked but not yet kept; null when it does not hold. */
export async function checkNewPasskey(response: RegistrationResponseJSON, now: number) {
  const { origin, hostname } = publicUrl();
  try {
    const checked = await verifyRegistrationResponse({
      response, expectedOrigin: origin, expectedRPID: hostname, requireUserVerification: true,
      expectedChallenge: (challenge) => isFreshChallenge(challenge, now),
    });
    return checked.verified ? { credential: checked.registrationInfo.credential, challenge: challengeIn(response) } : null;
  } catch {
    // The library throws on everything it refuses; the person is told one thing for all of it.
    return null;
  }
}
export type NewPasskey = NonNullable<Awaited<ReturnType<typeof checkNewPasskey>>>;

export function keepPasskey(tx: Transaction, personId: string, { credential, challenge }: NewPasskey, now: number): boolean {
  if (!spendChallenge(tx, challenge, now)) return false;
  return tx.insert(passkeys).values({
    id: randomUUID(), personId, credentialId: credential.id, publicKey: Buffer.from(credential.publicKey).toString("base64url"),
    counter: credential.counter, transports: JSON.stringify(credential.transports ?? []), createdAt: now,
  }).onConflictDoNothing().run().changes === 1;
}

/** A passkey shown by its holder, checked but not yet counted as used; null when it does not hold. */
export async function checkPasskey(response: AuthenticationResponseJSON, now: number) {
  const key = database().select().from(passkeys).where(eq(passkeys.credentialId, response.id)).get();
  if (!key) return null;
  const { origin, hostname } = publicUrl();
  try {
    const checked = await verifyAuthenticationResponse({
      response, expectedOrigin: origin, expectedRPID: hostname, requireUserVerification: true,
      expectedChallenge: (challenge) => isFreshChallenge(challenge, now),
      credential: { id: key.credentialId, publicKey: new Uint8Array(Buffer.from(key.publicKey, "base64url")), counter: key.counter },
    });
    return checked.verified
      ? { personId: key.personId, keyId: key.id, before: key.counter, counter: checked.authenticationInfo.newCounter, challenge: challengeIn(response) }
      : null;
  } catch {
    return null;
  }
}
export type ShownPasskey = NonNullable<Awaited<ReturnType<typeof checkPasskey>>>;

/** Counts a shown passkey as used; false when its challenge was used before or another use came between. */
export function spendPasskey(tx: Transaction, shown: ShownPasskey, now: number): boolean {
  if (!spendChallenge(tx, shown.challenge, now)) return false;
  return tx.update(passkeys).set({ counter: shown.counter, lastUsedAt: now })
    .where(and(eq(passkeys.id, shown.keyId), eq(passkeys.counter, shown.before))).run().changes === 1;
}

export const hasPasskey = (personId: string): boolean => keysOf(personId).length > 0;

const keysOf = (personId: string) =>
  database().select({ credentialId: passkeys.credentialId }).from(passkeys).where(eq(passkeys.personId, personId)).all();

function newChallenge(now: number): Uint8Array<ArrayBuffer> {
  const body = `${randomToken()}.${now}`;
  return new TextEncoder().encode(`${body}.${keyedHash("challenge", body)}`);
}

/** `challenge` as the browser returns it, Base64url of what we made. */
function isFreshChallenge(challenge: string, now: number): boolean {
  const [, token, at, mac] = CHALLENGE.exec(Buffer.from(challenge, "base64url").toString()) ?? [];
  if (!token || !at || !mac || !isSame(mac, keyedHash("challenge", `${token}.${at}`))) return false;
  return now < Number(at) + CHALLENGE_LIFE_MS;
}

/** Each challenge answers once: its row cannot be written twice. */
function spendChallenge(tx: Transaction, challenge: string, now: number): boolean {
  return tx.insert(challenges).values({
    id: randomUUID(), tokenHash: tokenHash(challenge), purpose: "passkey", value: "", expiresAt: now + CHALLENGE_LIFE_MS, usedAt: now,
  }).onConflictDoNothing().run().changes === 1;
}

/** Verified JSON by now: the library has parsed it and compared its challenge. */
function challengeIn({ response }: RegistrationResponseJSON | AuthenticationResponseJSON): string {
  const client: unknown = JSON.parse(Buffer.from(response.clientDataJSON, "base64url").toString());
  return typeof client === "object" && client !== null && "challenge" in client ? String(client.challenge) : "";
}
