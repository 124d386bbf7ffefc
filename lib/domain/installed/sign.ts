import { ACCENT, GROUND, INK } from "@/lib/domain/installed/colours";

/** Phones cut a full picture to a shape of their own, and keep the middle four fifths at least (W3C Web App Manifest, "maskable"). */
const KEPT_SHARE = 0.78;

/** The sign of the app, a spine with its apex marked, as SVG: with corners of its own, or filled to the edge. */
export function sign(shape: "rounded" | "full"): string {
  const corner = shape === "rounded" ? ` rx="10"` : "";
  const move = shape === "full" ? ` transform="translate(32 32) scale(${KEPT_SHARE}) translate(-33.500 -32)"` : "";
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 64 64"><rect width="64" height="64"${corner} fill="${GROUND.light}"/><g${move}>`
    + `<path d="M32 8c11 8 11 18 0 24s-9 16 0 24" fill="none" stroke="${INK}" stroke-width="6" stroke-linecap="round"/><circle cx="39.500" cy="20" r="5" fill="${ACCENT}"/></g></svg>`;
}

/** The pictures that a manifest names, by their file name. */
export const PICTURES = {
  "192.png": { size: 192, shape: "rounded", purpose: "any" },
  "512.png": { size: 512, shape: "rounded", purpose: "any" },
  "full-512.png": { size: 512, shape: "full", purpose: "maskable" },
} as const;
export const isPicture = (name: string | undefined): name is keyof typeof PICTURES => name !== undefined && Object.hasOwn(PICTURES, name);
