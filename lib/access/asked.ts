import "server-only";
import { z } from "zod";
import { readCookie, setCookie } from "@/lib/access/cookies";
import { seal, unseal } from "@/lib/access/sealed";
import { CODE_LIFE_MS } from "@/lib/access/mailed-code";

/** The only pages a sign-in leads back to: paths of ours, plainly written, and the invitation to a group session. */
const OWN_PATH = /^\/(?:family|desk)(?:\/[\w-]+)*$|^\/family\/session\?key=[\w-]{1,100}$/;
const Asked = z.object({ address: z.string(), goTo: z.string() });

export const ownPath = (path: string): string => (OWN_PATH.test(path) ? path : "/");

/** Keeps in this browser what it asked for, so that a mailed link signs in only here. */
export async function rememberAsked(address: string, goTo: string): Promise<void> {
  await setCookie("asked", seal("asked", JSON.stringify({ address, goTo: ownPath(goTo) })), CODE_LIFE_MS);
}

export async function readAsked(): Promise<z.infer<typeof Asked> | null> {
  const cookie = await readCookie("asked");
  const text = cookie ? unseal("asked", cookie) : null;
  return text === null ? null : Asked.parse(JSON.parse(text));
}
