import { Button } from "@/app/ui/button";
import { say } from "@/lib/messages/say";

/** Ends the session and clears what this browser kept; a plain form, so that it works without scripts. */
export function SignOutForm() {
  return (
    <form method="post" action="/sign-out">
      <Button type="submit" kind="quiet">{say("auth")("signIn.signOut")}</Button>
    </form>
  );
}
