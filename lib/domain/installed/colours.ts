/** The tokens that a phone needs outside a page: its bars, its start screen and the sign of the app. A test holds them to app/tokens.css. */
export const GROUND = { light: "#f6f0e4", dark: "#131a28" } as const;
export const INK = "#1b2436";
export const ACCENT = "#6e2862";
