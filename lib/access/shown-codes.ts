import "server-only";
import { z } from "zod";
import { clearCookie, readCookie, setCookie } from "@/lib/access/cookies";
import { recoveryCodesLeft } from "@/lib/access/recovery-code";
import { seal, unseal } from "@/lib/access/sealed";

/** Long enough to print or copy them. Ours. */
const SHOWN_MS = 10 * 60_000;
const Shown = z.object({ personId: z.string(), madeAt: z.number(), codes: z.array(z.string()) });

/** A new set waits sealed in the browser it was made in, and nowhere on the server, until it is written down. */
export async function rememberCodes(personId: string, codes: readonly string[], now: number): Promise<void> {
  await setCookie("recovery-codes", seal("recovery-codes", JSON.stringify({ personId, madeAt: now, codes })), SHOWN_MS);
}

/** The new set, for the person it was made for, while it is their newest and ten minutes are not over; null afterwards. */
export async function codesToShow(personId: string, now: number): Promise<readonly string[] | null> {
  const cookie = await readCookie("recovery-codes");
  const text = cookie ? unseal("recovery-codes", cookie) : null;
  if (text === null) return null;
  const shown = Shown.parse(JSON.parse(text));
  const isTheirs = shown.personId === personId && shown.madeAt === recoveryCodesLeft(personId)?.madeAt;
  return isTheirs && now < shown.madeAt + SHOWN_MS ? shown.codes : null;
}

export const forgetCodes = (): Promise<void> => clearCookie("recovery-codes");
