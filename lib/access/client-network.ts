import "server-only";
import { headers } from "next/headers";

/** Set by `lib/cli/screen.mjs` alone, whatever a client sends under this name. */
const CLIENT_NETWORK = "x-client-network";

/** The network this request comes from, as our server says; empty, so shared by all, where it says nothing. */
export async function clientNetwork(): Promise<string> {
  return (await headers()).get(CLIENT_NETWORK) ?? "";
}
