import { choiceFor } from "@/lib/domain/notices/kinds";

/**
 * Hosts of the push services that browsers use, each with whatever stands below it; nothing is pushed
 * anywhere else. As the browsers' own documentation names them, for firewalls; a practice's needs the same.
 */
export const PUSH_HOSTS = ["fcm.googleapis.com", "push.services.mozilla.com", "push.apple.com", "notify.windows.com"] as const;

const MOST_CHARACTERS = 2_000;

/** The address a browser's push service gave it, or null when it is none that we would ever ask: https, a known name, no port, no user. */
export function endpointOf(text: string): URL | null {
  if (text.length > MOST_CHARACTERS || !URL.canParse(text)) return null;
  const url = new URL(text);
  const isPlain = url.protocol === "https:" && url.port === "" && url.username === "" && url.password === "" && url.hash === "";
  return isPlain && PUSH_HOSTS.some((host) => url.hostname === host || url.hostname.endsWith(`.${host}`)) ? url : null;
}

/** Phones, tablets and computers of one person, at most. The figure is ours. */
export const MOST_PHONES = 10;

/** How long a push service keeps what it cannot deliver, in seconds (RFC 8030, 5.2); mail is tried as long. */
export const PUSH_LIFE_S = 86_400;

/** High wakes a sleeping phone (RFC 8030, 5.3): for what nobody can switch off. */
export type Urgency = "high" | "normal";
export const urgencyOf = (kinds: readonly string[]): Urgency => (kinds.some((kind) => choiceFor(kind) === null) ? "high" : "normal");

/** What a push brings: one sentence that says nothing, its language, and which side of the app it opens. */
export type Pushed = { readonly says: string; readonly lang: string; readonly to: "/family" | "/desk" };

/** What was pushed, or null when it cannot be read; never an address of anywhere else. */
export function pushedOf(text: string): Pushed | null {
  try {
    const { says, lang, to } = JSON.parse(text) as Readonly<Record<string, unknown>>; // looked at below
    return typeof says === "string" && typeof lang === "string" && (to === "/family" || to === "/desk") ? { says, lang, to } : null;
  } catch {
    return null;
  }
}
