"use client";

import {
  startAuthentication, startRegistration, type PublicKeyCredentialCreationOptionsJSON, type PublicKeyCredentialRequestOptionsJSON,
} from "@simplewebauthn/browser";
import { startTransition, useActionState, useState } from "react";
import { FRESH, type FormOutcome } from "@/app/ui/action-form";
import { Button } from "@/app/ui/button";
import { Notice } from "@/app/ui/notice";
import { Stack } from "@/app/ui/stack";

/** Asks the device for a passkey, or to make one. Needs scripts, as passkeys do. */
export function PasskeyButton({ action, request, offer, goTo = "", words }: {
  readonly action: (state: FormOutcome, form: FormData) => Promise<FormOutcome>;
  readonly request?: PublicKeyCredentialRequestOptionsJSON;
  readonly offer?: PublicKeyCredentialCreationOptionsJSON;
  readonly goTo?: string;
  readonly words: { readonly press: string; readonly waiting: string; readonly failed: string };
}) {
  const [outcome, run, isSending] = useActionState(action, FRESH);
  const [asking, setAsking] = useState<"no" | "yes" | "failed">("no");

  async function ask() {
    setAsking("yes");
    try {
      const response = offer ? await startRegistration({ optionsJSON: offer }) : request ? await startAuthentication({ optionsJSON: request }) : null;
      const form = new FormData();
      form.set("response", JSON.stringify(response));
      form.set("goTo", goTo);
      form.set("once", crypto.randomUUID());
      startTransition(() => run(form));
      setAsking("no");
    } catch {
      // Cancelled, timed out or not possible here: the device has already said which.
      setAsking("failed");
    }
  }

  const isBusy = asking === "yes" || isSending;
  return (
    <Stack gap="small">
      {asking === "failed" || (outcome.problem && !isBusy) ? <Notice kind="problem">{words.failed}</Notice> : null}
      <Button kind="quiet" aria-disabled={isBusy} onClick={() => {
        if (!isBusy) void ask();
      }}>
        {isBusy ? words.waiting : words.press}
      </Button>
    </Stack>
  );
}
