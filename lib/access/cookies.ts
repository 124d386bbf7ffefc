import "server-only";
import { cookies } from "next/headers";
import { publicUrl } from "@/lib/access/origin";

/**
 * `session-token` is who is signed in; `second-step` who has done the first step; `asked` who asked for a code here;
 * `language` what a stranger chose; `phone` which of the browsers that are pushed to this one is; `recovery-codes` a new
 * set until it is written down.
 */
export type CookieKind = "session-token" | "second-step" | "asked" | "language" | "phone" | "recovery-codes";

/** Over TLS the browser itself holds the cookie to this host and path; on loopback http it cannot. */
export const cookieName = (kind: CookieKind): string => `${isTls() ? "__Host-" : ""}trueside.${kind}`;

export async function readCookie(kind: CookieKind): Promise<string | null> {
  return (await cookies()).get(cookieName(kind))?.value ?? null;
}

/** Only a server action or a route handler may. */
export async function setCookie(kind: CookieKind, value: string, lifeMs: number): Promise<void> {
  (await cookies()).set(cookieName(kind), value, {
    httpOnly: true, sameSite: "lax", path: "/", secure: isTls(), maxAge: Math.floor(lifeMs / 1000),
  });
}

export async function clearCookie(kind: CookieKind): Promise<void> {
  await setCookie(kind, "", 0);
}

const isTls = (): boolean => publicUrl().protocol === "https:";
