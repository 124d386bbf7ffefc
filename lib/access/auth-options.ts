import "server-only";
import { decode, encode } from "next-auth/jwt";
import { practiceSecrets } from "@/lib/access/sealed";
import type { Secrets } from "@/lib/media/secrets";

/** Keeps our session tokens apart from anything else the same secret might one day sign. */
const SALT = "trueside session";

/**
 * next-auth's encrypted JWT around the random session token and nothing else: no role, no name, no
 * person. None of next-auth's own routes is mounted, so the only ways in are our proofs.
 */
export async function wrapToken(token: string, lifeMs: number): Promise<string> {
  return encode({ token: { sid: token }, secret: secret(), salt: SALT, maxAge: Math.floor(lifeMs / 1000) });
}

/** Opening one costs a millisecond, which is a third of what a picture does. What they mean is asked of the database every time. */
const MOST_KEPT = 500;
type Opened = { readonly token: string; readonly until: number };
const kept = new WeakMap<Secrets, Map<string, Opened>>();

/** The random session token in a cookie, or null when it is not ours, was changed, or is past its time. */
export async function unwrapToken(cookie: string): Promise<string | null> {
  const secrets = practiceSecrets();
  const opened = kept.get(secrets) ?? new Map<string, Opened>();
  kept.set(secrets, opened);
  const there = opened.get(cookie);
  if (there && Date.now() < there.until) return there.token;
  opened.delete(cookie);
  try {
    const token = await decode({ token: cookie, secret: secret(), salt: SALT });
    if (typeof token?.["sid"] !== "string") return null;
    if (typeof token["exp"] === "number") opened.set(cookie, { token: token["sid"], until: token["exp"] * 1000 });
    if (opened.size > MOST_KEPT) opened.delete(opened.keys().next().value ?? cookie);
    return token["sid"];
  } catch {
    return null;
  }
}

const secret = (): string => practiceSecrets().sessionSecret.toString("base64url");
