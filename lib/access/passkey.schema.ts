import "server-only";
import type { AuthenticationResponseJSON, RegistrationResponseJSON } from "@simplewebauthn/server";
import { z } from "zod";

const Base64Url = z.string().max(8_000).regex(/^[\w-]*$/);
const Common = { id: Base64Url, rawId: Base64Url, type: z.literal("public-key"), clientExtensionResults: z.object({}) };
const Assertion = z.object({
  ...Common, response: z.object({ clientDataJSON: Base64Url, authenticatorData: Base64Url, signature: Base64Url }),
});
const Attestation = z.object({
  ...Common,
  response: z.object({ clientDataJSON: Base64Url, attestationObject: Base64Url, transports: z.array(z.string().max(40)).max(10).default([]) }),
});

/** What a browser's passkey dialogue gave, as the form carries it. */
export const PasskeyResponse = z.strictObject({ response: z.string().max(20_000), goTo: z.string().max(200).default("") });

/** A passkey being shown; only the fields that are checked are kept. */
export const assertionOf = (text: string): AuthenticationResponseJSON | null => parsed(Assertion, text);

/** A passkey being made. */
export function attestationOf(text: string): RegistrationResponseJSON | null {
  const made = parsed(Attestation, text);
  // Transports are a hint for later dialogues; the library knows their words and drops the rest.
  return made === null ? null : { ...made, response: { ...made.response, transports: made.response.transports as NonNullable<RegistrationResponseJSON["response"]["transports"]> } };
}

function parsed<S extends z.ZodType>(schema: S, text: string): z.output<S> | null {
  try {
    const found = schema.safeParse(JSON.parse(text));
    return found.success ? found.data : null;
  } catch {
    return null;
  }
}
