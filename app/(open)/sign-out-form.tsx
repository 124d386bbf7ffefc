import { SignOut } from "@/app/(open)/sign-out";
import type { Reader } from "@/lib/domain/words/reader";
import catalogue from "@/lib/messages/en/sending.json";
import { say } from "@/lib/messages/say";

/** Ends the session and clears what this browser kept; a plain form, so that it works without scripts. */
export function SignOutForm({ reader, personId }: { readonly reader: Reader; readonly personId: string }) {
  const sending = say("sending", reader);
  const unsent = Object.fromEntries(Object.keys(catalogue.signOut).map((key) => [key, sending(`signOut.${key}`)]));
  return <SignOut personId={personId} words={{ press: say("auth", reader)("signIn.signOut"), ...unsent }} />;
}
