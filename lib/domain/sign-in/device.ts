import { deviceOf, DEVICES, type Device } from "@/lib/domain/notices/device";

export const BROWSERS = ["edge", "opera", "samsung", "firefox", "chrome", "safari", "other"] as const;
export const SYSTEMS = DEVICES;
/** The kind of browser and of what it runs on, and nothing finer: enough to know one's own, too little to follow anybody. */
export type SignInDevice = { readonly browser: (typeof BROWSERS)[number]; readonly system: Device };

/** Browsers name their ancestors too, so the more particular word is looked for first. */
const BROWSER_WORDS = [
  ["edge", /\bEdg(?:e|A|iOS)?\//], ["opera", /\bOPR\//], ["samsung", /\bSamsungBrowser\//], ["firefox", /\b(?:Firefox|FxiOS)\//],
  ["chrome", /\b(?:Chrome|CriOS|HeadlessChrome)\//], ["safari", /\bSafari\//],
] as const;

/** What a request's User-Agent (RFC 9110, 10.1.5) says of the browser and what it runs on; `other` for what is not known. */
export const signInDeviceOf = (userAgent: string): SignInDevice => ({
  browser: BROWSER_WORDS.find(([, word]) => word.test(userAgent))?.[0] ?? "other",
  system: deviceOf(userAgent),
});
