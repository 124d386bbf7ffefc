import "server-only";
import { seal, unseal } from "@/lib/access/sealed";

/**
 * The key in a mail's link that can switch off this person's news and reminders and nothing else. It opens
 * no session, names nobody to whoever reads it, and does not run out: mail is read late.
 */
export const offKey = (personId: string): string => seal("notice-off", personId);

/** Whose key it is, or null when we did not make it. */
export const personOfOffKey = (key: string): string | null => unseal("notice-off", key);
