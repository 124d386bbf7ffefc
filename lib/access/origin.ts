import "server-only";

/** The address people use, set in full or loopback; links and origin checks are made from it alone. */
export function publicUrl(): URL {
  return new URL(process.env["PUBLIC_URL"] ?? `http://localhost:${process.env["PORT"] ?? "3000"}`);
}

/**
 * Whether a changing request comes from our own pages. Foreign, `null` and missing origins are all
 * refused, except that a browser's own same-origin word may stand in for a missing Origin.
 */
export function isOwnOrigin(headers: Headers): boolean {
  const site = headers.get("sec-fetch-site");
  if (site !== null && site !== "same-origin") return false;
  const origin = headers.get("origin");
  if (origin === null) return site === "same-origin";
  return origin === publicUrl().origin;
}
