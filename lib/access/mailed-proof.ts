import "server-only";
import type { CodeFor } from "@/lib/access/mailed-code";
import { keyedHash } from "@/lib/access/sealed";

/** Found under the person and counted for one session of theirs; a sign-in code is found under an address, and neither stands in for the other. */
export const proofOf = (personId: string, sessionId: string): CodeFor => ({ whose: keyedHash("proof", personId), bound: `${sessionId}:`, act: "mail-proof.shown" });
