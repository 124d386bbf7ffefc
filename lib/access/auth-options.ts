import "server-only";
import { decode, encode } from "next-auth/jwt";
import { practiceSecrets } from "@/lib/access/sealed";

/** Keeps our session tokens apart from anything else the same secret might one day sign. */
const SALT = "trueside session";

/**
 * next-auth's encrypted JWT around the random session token and nothing else: no role, no name, no
 * person. None of next-auth's own routes is mounted, so the only ways in are our proofs.
 */
export async function wrapToken(token: string, lifeMs: number): Promise<string> {
  return encode({ token: { sid: token }, secret: secret(), salt: SALT, maxAge: Math.floor(lifeMs / 1000) });
}

/** The random session token in a cookie, or null when it is not ours, was changed, or is past its time. */
export async function unwrapToken(cookie: string): Promise<string | null> {
  try {
    const token = await decode({ token: cookie, secret: secret(), salt: SALT });
    return typeof token?.["sid"] === "string" ? token["sid"] : null;
  } catch {
    return null;
  }
}

const secret = (): string => practiceSecrets().sessionSecret.toString("base64url");
