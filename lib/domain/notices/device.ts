/** What a phone or computer is, as its owner would call it. */
export const DEVICES = ["android", "iphone", "ipad", "windows", "mac", "linux", "other"] as const;
export type Device = (typeof DEVICES)[number];

/** In this order: an Android says "Linux" too. A tablet that passes for a Mac is taken for one. */
const SIGNS: readonly (readonly [Device, RegExp])[] = [
  ["iphone", /\biPhone\b/], ["ipad", /\biPad\b/], ["android", /\bAndroid\b/], ["windows", /\bWindows\b/], ["mac", /\bMac(?:intosh| OS X)\b/], ["linux", /\b(?:Linux|X11|CrOS)\b/],
];

/** Only the kind is taken from what a browser says of itself; no version, model or maker is kept. */
export const deviceOf = (userAgent: string): Device => SIGNS.find(([, sign]) => sign.test(userAgent))?.[0] ?? "other";
